"""Hypothesis strategies: what a person does to a job, one action after another."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from hypothesis import strategies as st
from moneyed import Money

from firstpiece.errors import FirstpieceError
from firstpiece.model import job_rules as rules
from firstpiece.model.design import ReceivedPicture, Revision
from firstpiece.model.edit import NO_EDITS, EditLog, SwapThread
from firstpiece.model.job import Job, JobState, fold_events
from firstpiece.model.job_event import JobEvent
from firstpiece.model.order import Colorway, OrderLine
from firstpiece.model.order_answers import answer_point, ask_points
from firstpiece.model.order_question import AskedPoint
from firstpiece.model.question import Choice
from firstpiece.model.region import TraceOptions
from firstpiece.model.sewout import SewOut, SewOutPhoto
from firstpiece.model.stitch import StitchSpec, StitchType, Underlay
from firstpiece.store.schema import plain

NOON = datetime(2031, 4, 5, 12, 0, tzinfo=UTC)
WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12).filter(
    lambda text: text.strip() and text == " ".join(text.split())
)
GARMENTS = st.sampled_from(["apron-natural", "tee-black"])
DAYS = st.dates(date(2031, 1, 1), date(2032, 1, 1))
MONEY = st.decimals(0, 9999, places=2).map(lambda amount: Money(amount, "GBP"))
LINES = st.builds(
    OrderLine,
    number=st.integers(0, 3),
    garment=GARMENTS,
    count=st.integers(3, 50),
    color=st.sampled_from(["", "moss"]),
    size=st.sampled_from(["", "S", "XL"]),
    placement=st.sampled_from(["", "left chest"]),
    colorway=st.sampled_from(["", "dusk"]),
    names=st.lists(WORDS, max_size=3).map(tuple),
)
SPECS = st.dictionaries(
    st.integers(0, 5),
    st.builds(
        StitchSpec,
        stitch_type=st.none() | st.sampled_from(StitchType),
        row_spacing_mm=st.none() | st.floats(0.2, 2.0),
        underlay=st.none() | st.lists(st.sampled_from(Underlay), max_size=2).map(tuple),
        order=st.none() | st.integers(0, 9),
    ),
    max_size=3,
)
OPTIONS = st.builds(
    TraceOptions,
    n_colors=st.none() | st.integers(1, 32),
    keep_background=st.booleans(),
    bare_colors=st.lists(st.tuples(*[st.integers(0, 255)] * 3), max_size=2).map(tuple),
    smooth_mm=st.floats(0, 1),
)
REVISIONS = st.builds(
    Revision,
    number=st.just(1),
    picture=st.just("0" * 64),
    height_mm=st.floats(5, 400),
    width_mm=st.floats(5, 400),
    garment=GARMENTS,
    thread=st.just("poly-40"),
    options=OPTIONS,
    specs=SPECS.map(lambda specs: tuple(sorted(specs.items()))),
    plan_id=st.text("0123456789abcdef", min_size=8, max_size=8),
    threads=st.just(("moss", "poppy")),
    n_stitches=st.integers(1, 90_000),
    minutes=st.floats(0.5, 300),
    quantity=st.integers(1, 500),
    each=MONEY,
    blocks_sewing=st.booleans(),
    reason=WORDS,
    edits=st.sampled_from([NO_EDITS, EditLog(edits=(SwapThread("moss", "fern"),), height_mm=90.0)]),
)
PICTURES = st.builds(
    ReceivedPicture,
    hash=st.sampled_from(["1" * 64, "2" * 64]),
    name=WORDS,
    n_bytes=st.integers(1, 10**7),
    at=st.just(NOON),
)
COLORWAYS = st.builds(Colorway, name=st.just("dusk"), threads=st.just(("rust", "straw")))


PHOTOS = st.builds(
    SewOutPhoto,
    hash=st.sampled_from(["1" * 64, "3" * 64, "4" * 64]),
    n_bytes=st.integers(1, 10**7),
)


def sewn_out(**told):
    """A function job -> drafts that tells of its newest design, sewn on a garment."""

    def action(job):
        newest = job.revision
        sewn = {"revision": newest.number, "plan_id": newest.plan_id} if newest else {}
        cards = {"thread": "poly-40", "cards": "c" * 64}
        return rules.record_sewout(
            job, SewOut(**{"revision": 1, "plan_id": ""} | sewn, **cards, **told)
        )

    return action


SEWOUTS = st.builds(
    sewn_out,
    garment=GARMENTS,
    minutes=st.floats(0.1, 600),
    rating=st.integers(1, 5),
    seen=WORDS | st.just(""),
    change=WORDS | st.just(""),
    photos=st.lists(PHOTOS, max_size=2, unique_by=lambda photo: photo.hash).map(tuple),
)


POINTS = (
    AskedPoint("A", "bare-or-thread", "#ffffff", "White: thread or cloth?",
               (Choice("sew it", "thread", "white"), Choice("leave it", "bare", "#ffffff")),
               "0" * 64),
    AskedPoint("B", "near-colors", "moss>fern", "One thread or two?",
               (Choice("two", "keep"), Choice("fern", "merge", "moss>fern")), "0" * 64),
    AskedPoint("C", "due", "", "By which day?"),
    AskedPoint("D", "sizes", "1", "Which sizes?"),
    AskedPoint("E", "pieces", "", "How many?"),
)  # fmt: skip
CHOICES = st.sampled_from(["1", "2", "3", "2031-06-01", "M", "1 S, 2 M", "1 S, 9 XL", "soon"])


def call(rule, **given):
    """A strategy of functions job -> drafts."""
    return st.fixed_dictionaries(given).map(lambda values: lambda job: rule(job, **values))


ACTIONS = st.one_of(
    call(rules.put_line, line=LINES),
    call(rules.put_line, line=LINES),
    call(rules.remove_line, number=st.integers(1, 3)),
    call(rules.revise, revision=REVISIONS),
    call(rules.revise, revision=REVISIONS),
    call(rules.receive_picture, picture=PICTURES),
    call(rules.set_colorway, colorway=COLORWAYS),
    call(rules.ask, text=WORDS),
    call(rules.answer, text=WORDS),
    call(ask_points, text=WORDS, points=st.just(POINTS)),
    call(answer_point, letter=st.sampled_from("ABCDEZ"), choice=CHOICES),
    call(answer_point, letter=st.sampled_from("ABCDEZ"), choice=CHOICES),
    call(rules.note, text=WORDS),
    SEWOUTS,
    call(rules.step, state=st.sampled_from(JobState)),
    call(rules.drop, reason=WORDS),
    st.just(rules.take_up),
    st.builds(
        lambda n, net, day: lambda job: rules.offer(
            job, quantity=n, net=net, total=net * 2, valid_until=day
        ),
        st.integers(1, 99), MONEY, st.none() | DAYS,
    ),
    st.builds(
        lambda who, price: lambda job: rules.agree(job, said_by=who, price=price),
        WORDS, st.none() | MONEY,
    ),
    st.builds(
        lambda changes: lambda job: rules.change_head(job, changes),
        st.fixed_dictionaries({}, optional={"title": WORDS, "due": st.none() | DAYS,
                                            "message": WORDS}),
    ),
)  # fmt: skip


@st.composite
def histories(draw, *, most: int = 12):
    """Draft lists of the actions that were allowed, the opening first."""
    drafts = [rules.open_job(title=draw(WORDS), due=draw(st.none() | DAYS))]
    job = grow(Job(), drafts[0])
    for action in draw(st.lists(ACTIONS, max_size=most)):
        try:
            told = action(job)
        except FirstpieceError:
            continue
        drafts.append(told)
        job = grow(job, told)
    return drafts


def events_of(job: Job, drafts, *, number: int = 1):
    """The entries a store would write after a job's log."""
    return tuple(
        JobEvent(number, n, NOON + timedelta(minutes=n), d.kind, plain(d.figures), plain(d.words))
        for n, d in enumerate(drafts, start=job.version + 1)
    )


def grow(job: Job, drafts, *, number: int = 1) -> Job:
    return fold_events(events_of(job, drafts, number=number), job)
