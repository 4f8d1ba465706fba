"""What an order still lacks, asked together with what its picture leaves open.

Input: a job. Output: lettered points and a message ready to paste; sent, it is kept in the job's
log, and the answers are carried out by letter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.briefing.stage import letters
from firstpiece.errors import JobError
from firstpiece.files.placement_table import read_placements
from firstpiece.model.order_answers import answer_point, ask_points
from firstpiece.model.order_question import AskedPoint, rgb_text
from firstpiece.model.placement import ANY_SIZE
from firstpiece.model.question import Choice, Questions
from firstpiece.shop.ask import USUAL_HEIGHT_MM, ask_customer
from firstpiece.shop.cards import open_cards
from firstpiece.shop.finishing import SKIN_SIDE
from firstpiece.shop.job_book import act, read_job
from firstpiece.shop.job_design import picture_data
from firstpiece.shop.outputs import make_questions
from firstpiece.shop.prepare import PrepareRequest
from firstpiece.store.home import cards_folder

if TYPE_CHECKING:
    from firstpiece.files.placement_table import PlacementTable
    from firstpiece.model import job_rules as rules
    from firstpiece.model.job import Job
    from firstpiece.model.material import Garment
    from firstpiece.model.order import OrderLine
    from firstpiece.model.question import Question
    from firstpiece.model.region import RegionMap
    from firstpiece.shop.ask import Asked


@dataclass(frozen=True, slots=True, eq=False)
class OrderQuestions:
    """What a job leaves open: ``asked`` is its design, None without a picture."""

    job: Job
    points: tuple[AskedPoint, ...]
    message: str
    asked: Asked | None


def list_order_questions(number: int) -> OrderQuestions:
    """Return what a job's picture and order leave open, lettered: first the picture's points.

    Raises
    ------
    JobError
        When there is no such job.
    """
    job = read_job(number)
    asked = _ask_of_picture(job)
    points = _design_points(job, asked) if asked else []
    # Letters on the picture sheet are those of all its questions, so they are kept.
    n_before = len(asked.questions.items) if asked else 0
    lacking = _order_points(job)
    lettered = [replace(p, letter=letters(n)) for n, p in enumerate(lacking, start=n_before)]
    found = (*points, *lettered)
    return OrderQuestions(job, found, write_order_message(job, found), asked)


def ask_order(number: int, *, expected: int | None = None) -> OrderQuestions:
    """Return what is open and record it as sent; with nothing open nothing is recorded.

    Raises
    ------
    JobError, StaleError
    """
    found = list_order_questions(number)
    if not found.points:
        return found
    job = act(
        number,
        lambda current: ask_points(current, found.message, found.points),
        expected=expected or found.job.version,
    )
    return replace(found, job=job)


def draw_asked(found: OrderQuestions) -> dict[str, bytes]:
    """Return questions.txt and, when the picture leaves something open, questions.png."""
    message = found.message
    if found.asked is None:
        return {"questions.txt": message.encode()}
    drawn = {point.letter for point in found.points if point.picture}
    items = tuple(q for q in found.asked.questions.items if q.letter in drawn)
    return make_questions(
        found.asked.region_map,
        Questions(items, message),
        setup=found.asked.setup,
        title=found.job.title,
    )


def answer_order(number: int, letter: str, choice: str, *, expected: int | None = None) -> Job:
    """Record the answer to a lettered point and carry it out; see ``answer_point``."""
    return act(number, lambda job: answer_point(job, letter, choice), expected=expected)


def answer_rest(number: int, *, expected: int | None = None) -> Job:
    """Take the first answer to every open point that has choices: the customer said nothing else.

    Raises
    ------
    JobError
        When no open point has choices.
    StaleError
    """

    def decide(job: Job) -> rules.Drafts:
        drafts: rules.Drafts = ()
        for point in job.asked:
            if point.choices:
                drafts += answer_point(job, point.letter, "1")
        if not drafts:
            raise JobError(
                _("no open point has a first answer"),
                where=_("job {number}").format(number=number),
                remedy=_("record what was answered, point by point"),
            )
        return drafts

    return act(number, decide, expected=expected)


def write_order_message(job: Job, points: tuple[AskedPoint, ...]) -> str:
    """Return the message in plain words, ready to paste into any chat or mail."""
    if not points:
        return _("Thank you. Everything about your order is clear to us.") + "\n"
    parts = [
        _("Thank you for your order, “{title}”.").format(title=job.title)
        if job.title
        else _("Thank you for your order."),
        _("Before we sew it, please answer by letter."),
    ]
    if any(point.picture and point.code != "height" for point in points):
        parts.append(_("The letters stand on the picture that comes with this."))
    if any(point.choices for point in points):
        parts.append(_("Where you say nothing, we take the first answer."))
    opening = " ".join(parts)
    return "\n\n".join([opening, *(_paragraph(point) for point in points)]) + "\n"


def _paragraph(point: AskedPoint) -> str:
    answers = (f"   {n}) {choice.label}" for n, choice in enumerate(point.choices, start=1))
    return "\n".join([f"{point.letter}. {point.text}", *answers])


def _ask_of_picture(job: Job) -> Asked | None:
    """Return the questions of the newest design, else of the last picture at the usual height."""
    revision = job.revision
    if revision is not None:
        request = PrepareRequest(
            data=picture_data(revision.picture),
            name=job.title,
            height_mm=revision.height_mm,
            garment=revision.garment,
            thread=revision.thread,
            options=revision.options,
        )
    elif job.pictures:
        data = picture_data(job.pictures[-1].hash)
        garment = job.lines[0].garment if job.lines else ""
        request = PrepareRequest(data, job.title, USUAL_HEIGHT_MM, garment=garment)
    else:
        return None
    return ask_customer(request)


def _design_points(job: Job, asked: Asked) -> list[AskedPoint]:
    picture = job.revision.picture if job.revision else job.pictures[-1].hash
    settled = {(s.code, s.about) for s in job.settled if s.picture == picture}
    left_bare = any(s.effect == "bare" for s in job.settled if s.picture == picture)
    points = []
    for question in asked.questions.items:
        point = _design_point(question, asked.region_map, picture)
        # What was left bare at the customer's word is not asked about once more.
        was_bare = left_bare and question.choices[0].effect == "bare"
        if (point.code, point.about) not in settled and not was_bare:
            points.append(point)
    return points


def _design_point(question: Question, region_map: RegionMap, picture: str) -> AskedPoint:
    regions = [region_map.region(number) for number in question.region_ids]
    about, choices = ",".join(map(str, question.region_ids)), question.choices
    sewn = [region for region in regions if not region.is_bare]
    if question.code == "near-colors":
        names = [region_map.thread_of(region).name for region in sewn]
        about = ">".join(names)
        choices = tuple(_merging(choice, names) for choice in choices)
    elif question.code == "bare-or-thread" and sewn:
        about = rgb_text(region_map.matches[sewn[0].color_index].art_rgb)
        choices = tuple(replace(c, value=about) if c.effect == "bare" else c for c in choices)
    return AskedPoint(question.letter, question.code, about, question.text, choices, picture)


def _merging(choice: Choice, names: list[str]) -> Choice:
    """Return a choice whose value names the thread that goes and the one that takes its areas."""
    if choice.effect != "merge":
        return choice
    gone = next((name for name in names if name != choice.value), None)
    return replace(choice, value=f"{gone}>{choice.value}" if gone else None)


def _order_points(job: Job) -> list[AskedPoint]:
    """Return what the order lacks, without letters."""
    points = _height_points(job)
    if not job.lines:
        text = _("Which garments, and how many of each colour and size?")
        points.append(AskedPoint("", "pieces", "", text))
    cards, table = open_cards(), read_placements(cards_folder())
    for line in job.lines:
        points += _line_points(line, cards.garment(line.garment), table)
    if job.due is None:
        points.append(AskedPoint("", "due", "", _("By which day do you need them?")))
    if any(SKIN_SIDE in cards.garment(line.garment).cautions for line in job.lines):
        points.append(_cover_point())
    points.append(_postage_point())
    settled = {(s.code, s.about) for s in job.settled if not s.picture and s.effect != "said"}
    return [point for point in points if (point.code, point.about) not in settled]


def _height_points(job: Job) -> list[AskedPoint]:
    """Ask how large the design is to be before one was made."""
    if job.revision is not None or not job.pictures:
        return []
    picture = job.pictures[-1].hash
    if any((s.code, s.picture) == ("height", picture) for s in job.settled):
        return []
    text = _("How high is the finished design to be? We assumed {height:g} mm.")
    return [AskedPoint("", "height", "", text.format(height=USUAL_HEIGHT_MM), picture=picture)]


def _line_points(line: OrderLine, garment: Garment, table: PlacementTable) -> list[AskedPoint]:
    about, facts = str(line.number), {"n": line.count, "what": garment.label}
    places = table.of_kind(garment.kind)
    sized = any(size != ANY_SIZE for place in places for size in place.down_mm)
    points = []
    if not line.color and not garment.color_name:
        text = _("{n} × {what}: in which colour?").format(**facts)
        points.append(AskedPoint("", "color", about, text))
    if not line.size and sized:
        text = _("{n} × {what}: how many of each size?").format(**facts)
        points.append(AskedPoint("", "sizes", about, text))
    if not line.placement and len(places) > 1:
        text = _("{n} × {what}: where does the design go?").format(**facts)
        # The usual place needs no word in the line, so its value is none.
        first = Choice(places[0].label, "place")
        others = (Choice(place.label, "place", place.place) for place in places[1:])
        points.append(AskedPoint("", "placement", about, text, (first, *others)))
    return points


def _cover_point() -> AskedPoint:
    text = _("The back of the work touches the skin: shall we press a soft cover over it?")
    choices = (
        Choice(_("yes, cover it"), "cover", "yes"),
        Choice(_("no, leave it as it is"), "cover", "no"),
    )
    return AskedPoint("", "cover", "", text, choices)


def _postage_point() -> AskedPoint:
    text = _("How do they come to you, and who pays the postage?")
    choices = (
        Choice(_("they are fetched from us"), "postage", "fetched"),
        Choice(_("sent, and you pay the postage"), "postage", "customer"),
        Choice(_("sent, and the postage is in our price"), "postage", "shop"),
    )
    return AskedPoint("", "postage", "", text, choices)
