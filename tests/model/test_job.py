"""A job is what its log adds up to, and the rules let nothing through that makes no sense."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from moneyed import Money
from tests.model.job_logs import NOON, events_of, grow, histories

from firstpiece.errors import JobError
from firstpiece.model import job_rules as rules
from firstpiece.model.design import ReceivedPicture, Revision, compare_revisions
from firstpiece.model.job import Job, JobState, Turn, Waiting, fold_events
from firstpiece.model.job_event import EventKind, JobEvent
from firstpiece.model.order import Colorway, OrderLine
from firstpiece.model.region import TraceOptions

DESIGN = Revision(
    number=1, picture="0" * 64, height_mm=90.0, width_mm=60.0, garment="apron-natural",
    thread="poly-40", options=TraceOptions(bare_colors=((255, 255, 255),)), specs=(),
    plan_id="12ab34cd", threads=("moss", "poppy"), n_stitches=8000, minutes=12.5, quantity=12,
    each=Money("9.50", "GBP"), blocks_sewing=False, reason="first draft",
)  # fmt: skip


def drafted() -> Job:
    job = grow(Job(), rules.open_job(title="aprons", customer=3, due=date(2031, 9, 1)))
    job = grow(job, rules.put_line(job, OrderLine(0, "apron-natural", 2, names=("Ida", "Bo"))))
    return grow(job, rules.revise(job, DESIGN))


def quoted() -> Job:
    job = drafted()
    price = Money("19.00", "GBP")
    return grow(job, rules.offer(job, quantity=2, net=price, total=price, valid_until=None))


def agreed() -> Job:
    job = quoted()
    return grow(job, rules.agree(job, said_by="Ida, by letter"))


@given(histories())
def test_replaying_the_log_gives_the_same_job(history):
    """However the log is cut up, whole or entry by entry, it adds up to the same."""
    job, log = Job(), ()
    for drafts in history:
        log += events_of(job, drafts)
        job = grow(job, drafts)
    assert fold_events(log) == job
    for cut in range(len(log) + 1):
        assert fold_events(log[cut:], fold_events(log[:cut]) if cut else None) == job


@given(histories())
def test_whatever_is_done_a_job_stays_in_order(history):
    job = Job()
    for drafts in history:
        before, job = job, grow(job, drafts)
        assert job.version == before.version + len(drafts)
        assert [r.number for r in job.revisions] == list(range(1, len(job.revisions) + 1))
        assert len({line.number for line in job.lines}) == len(job.lines)
        assert (job.waiting.turn == Turn.NOBODY) == (not job.state.is_open)
        assert job.waiting.sentence
        if job.state == JobState.AGREED and before.state != JobState.SUPPLIED:
            assert job.agreed
        if job.agreed:
            # What stands agreed is what would be sewn now.
            assert job.agreed.lines == job.lines
            assert job.agreed.plan_id == job.revision.plan_id
            assert job.agreed.colorways == job.colorways


@given(histories())
def test_an_erased_log_keeps_its_figures_and_loses_its_words(history):
    job, log = Job(), ()
    for drafts in history:
        log += events_of(job, drafts)
        job = grow(job, drafts)
    erased = fold_events(replace(event, words={}) for event in log)
    assert (erased.title, erased.message, erased.state) == ("", "", job.state)
    assert [(x.count, x.garment, x.size) for x in erased.lines] == [
        (x.count, x.garment, x.size) for x in job.lines
    ]
    assert not any(x.names for x in erased.lines)
    assert [r.plan_id for r in erased.revisions] == [r.plan_id for r in job.revisions]
    assert [a.price for a in erased.agreements] == [a.price for a in job.agreements]
    assert not any(a.said_by for a in erased.agreements)
    assert not any(note.text for note in erased.notes)


def test_a_damaged_log_is_noticed():
    log = events_of(Job(), rules.open_job(title="a"))
    late = JobEvent(1, 3, NOON, EventKind.NOTE, {}, {"text": "x"})
    other = JobEvent(2, 2, NOON, EventKind.NOTE, {}, {"text": "x"})
    for wrong in (late, other):
        with pytest.raises(ValueError, match="entry"):
            fold_events((*log, wrong))


def test_a_job_says_whose_move_it_is_all_the_way():
    told = []
    job = grow(Job(), rules.open_job(title="aprons"))

    def go(drafts):
        nonlocal job
        job = grow(job, drafts)
        told.append((str(job.state), job.waiting, job.waiting.turn))

    go(rules.ask(job, "which blue?"))
    go(rules.answer(job, "the dark one"))
    go(rules.revise(job, DESIGN))
    go(rules.put_line(job, OrderLine(0, "apron-natural", 2)))
    price = Money("19.00", "GBP")
    go(rules.offer(job, quantity=2, net=price, total=price, valid_until=None))
    go(rules.agree(job, said_by="Ida"))
    for state in (JobState.SUPPLIED, JobState.SEWING, JobState.DONE):
        go(rules.step(job, state))
    assert told == [
        ("asked", Waiting.ANSWER, Turn.CUSTOMER),
        ("asked", Waiting.DRAFT, Turn.SHOP),
        ("drafted", Waiting.PIECES, Turn.SHOP),
        ("drafted", Waiting.PRICE, Turn.SHOP),
        ("quoted", Waiting.YES, Turn.CUSTOMER),
        ("agreed", Waiting.BLANKS, Turn.SHOP),
        ("supplied", Waiting.SEWING, Turn.SHOP),
        ("sewing", Waiting.FINISHING, Turn.SHOP),
        ("done", Waiting.NOTHING, Turn.NOBODY),
    ]


def test_what_was_agreed_is_frozen_with_everything_it_was_about():
    job = agreed()
    assert job.state == JobState.AGREED
    record = job.agreed
    assert (record.revision, record.plan_id, record.threads) == (1, "12ab34cd", ("moss", "poppy"))
    assert record.lines[0].names == ("Ida", "Bo")
    assert record.price == Money("19.00", "GBP")
    assert record.said_by == "Ida, by letter"


@pytest.mark.parametrize(
    "change",
    [
        lambda job: rules.revise(job, DESIGN),
        lambda job: rules.put_line(job, OrderLine(0, "tee-black", 1)),
        lambda job: rules.remove_line(job, 1),
        lambda job: rules.set_colorway(job, Colorway("dusk", ("rust", "straw"))),
    ],
)
def test_a_change_after_the_yes_takes_the_yes_away_but_keeps_its_record(change):
    job = agreed()
    after = grow(job, change(job))
    assert after.state == JobState.DRAFTED
    assert after.agreed is None
    assert after.offer is None
    assert after.agreements == job.agreements


@pytest.mark.parametrize(
    ("make", "action", "words"),
    [
        (drafted, lambda job: rules.agree(job, said_by="Ida"), "no price was offered"),
        (quoted, lambda job: rules.agree(job, said_by=" "), "nobody said yes"),
        (agreed, lambda job: rules.agree(job, said_by="Ida"), None),
        (drafted, lambda job: rules.step(job, JobState.SEWING), "cannot become sewing"),
        (agreed, lambda job: rules.step(job, JobState.DONE), "cannot become done"),
        (drafted, lambda job: rules.answer(job, "yes"), "nothing was asked"),
        (drafted, lambda job: rules.remove_line(job, 7), "there is no line 7"),
        (drafted, lambda job: rules.put_line(job, OrderLine(7, "tee-black", 1)), "no line 7"),
        (drafted, lambda job: rules.put_line(job, OrderLine(0, "tee-black", 1, colorway="x")),
         "no colourway “x”"),
        (drafted, lambda job: rules.set_colorway(job, Colorway("x", ("a",))), "names 1 threads"),
        (drafted, rules.take_up, "was not dropped"),
        (drafted, lambda job: rules.note(job, "\n"), "the text is empty"),
        (agreed, lambda job: rules.offer(job, quantity=1, net=DESIGN.each, total=DESIGN.each,
                                         valid_until=None), "already agreed"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_the_way_on(make, action, words):
    job = make()
    if words is None:
        # Agreeing again at the price offered is a second record, which is allowed.
        assert grow(job, action(job)).agreements[1:]
        return
    with pytest.raises(JobError, match=words):
        action(job)


@pytest.mark.parametrize("end", ["sewing", "done", "dropped"])
def test_a_job_being_sewn_or_over_takes_no_changes(end):
    job = agreed()
    if end == "dropped":
        job = grow(job, rules.drop(job, "moved away"))
    else:
        job = grow(job, rules.step(job, JobState.SEWING))
        if end == "done":
            job = grow(job, rules.step(job, JobState.DONE))
    for action in (
        lambda: rules.revise(job, DESIGN),
        lambda: rules.put_line(job, OrderLine(0, "tee-black", 1)),
        lambda: rules.remove_line(job, 1),
        lambda: rules.agree(job, said_by="Ida"),
    ):
        with pytest.raises(JobError, match=f"the job is {end}"):
            action()
    assert grow(job, rules.note(job, "still allowed")).notes[-1].text == "still allowed"


def test_a_reorder_starts_from_what_was_agreed_without_the_names():
    job = agreed()
    later = grow(job, rules.revise(job, replace(DESIGN, plan_id="ffffffff", reason="bolder")))
    later = grow(later, rules.put_line(later, OrderLine(0, "tee-black", 40)))
    again = grow(Job(), rules.reorder(later, due=date(2032, 1, 1)), number=9)
    assert again.id == 9
    assert (again.reorder_of, again.customer, again.title) == (1, 3, "aprons")
    assert again.revision.plan_id == "12ab34cd"
    assert again.revision.options == DESIGN.options
    assert [(x.garment, x.count, x.names) for x in again.lines] == [("apron-natural", 2, ())]
    assert again.state == JobState.DRAFTED
    assert again.due == date(2032, 1, 1)


def test_a_reorder_of_a_job_without_a_design_is_refused():
    job = grow(Job(), rules.open_job(title="x"))
    with pytest.raises(JobError, match="no design to repeat"):
        rules.reorder(job)


def test_the_same_picture_twice_is_one_picture():
    job = drafted()
    picture = ReceivedPicture("1" * 64, "logo.png", 10, NOON)
    job = grow(job, rules.receive_picture(job, picture))
    assert rules.receive_picture(job, picture) == ()


def test_revisions_are_compared_figure_by_figure():
    taller = replace(DESIGN, number=2, height_mm=300.0, n_stitches=58_000,
                     each=Money("31.25", "GBP"), threads=("moss", "poppy", "straw"))  # fmt: skip
    change = compare_revisions(DESIGN, taller)
    assert (change.n_stitches, change.height_mm, change.n_threads) == (50_000, 210.0, 1)
    assert change.each == Money("21.75", "GBP")
    assert compare_revisions(DESIGN, replace(taller, quantity=1)).each is None
