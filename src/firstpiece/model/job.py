"""A job: one order from the first message to the finished pieces, as its log adds up to.

``fold_events`` is pure: the same log gives the same job, on any day and any computer.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.model.design import ReceivedPicture, Revision, money_from, revision_from
from firstpiece.model.job_event import EventKind, JobEvent
from firstpiece.model.order import Agreement, Colorway, Offer, OrderLine, count_pieces, line_from
from firstpiece.model.order_question import AskedPoint, SettledPoint, points_from, settle
from firstpiece.model.sewout import SewOut, sewout_from

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

NEVER = datetime(1, 1, 1, tzinfo=UTC)


class JobState(StrEnum):
    """How far a job is."""

    ASKED = "asked"
    DRAFTED = "drafted"
    QUOTED = "quoted"
    AGREED = "agreed"
    SUPPLIED = "supplied"
    SEWING = "sewing"
    DONE = "done"
    DROPPED = "dropped"

    @property
    def is_open(self) -> bool:
        """True while something is still to be done."""
        return self not in (JobState.DONE, JobState.DROPPED)


class Turn(StrEnum):
    """Whose move it is."""

    SHOP = "us"
    CUSTOMER = "customer"
    NOBODY = "nobody"


class Waiting(StrEnum):
    """What a job waits for."""

    DRAFT = "draft"
    PIECES = "pieces"
    PRICE = "price"
    ANSWER = "answer"
    YES = "yes"
    BLANKS = "blanks"
    SEWING = "sewing"
    FINISHING = "finishing"
    NOTHING = "nothing"

    @property
    def turn(self) -> Turn:
        """Whose move it is."""
        if self == Waiting.NOTHING:
            return Turn.NOBODY
        return Turn.CUSTOMER if self in (Waiting.ANSWER, Waiting.YES) else Turn.SHOP

    @property
    def sentence(self) -> str:
        """The same in a few words, beginning with whose move it is."""
        return {
            Waiting.DRAFT: _("us: draft the design"),
            Waiting.PIECES: _("us: list the pieces"),
            Waiting.PRICE: _("us: offer a price"),
            Waiting.ANSWER: _("the customer's answer"),
            Waiting.YES: _("the customer's yes"),
            Waiting.BLANKS: _("us: get the blanks"),
            Waiting.SEWING: _("us: sew"),
            Waiting.FINISHING: _("us: finish and hand over"),
            Waiting.NOTHING: _("nothing"),
        }[self]


@dataclass(frozen=True, slots=True)
class Note:
    """A remark kept with a job."""

    text: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Job:
    """A job as it stands.

    Parameters
    ----------
    id : int
        The job's number.
    version : int
        Number of the last log entry.
    state : JobState
    customer : int
        The customer's number; 0 for none yet.
    title, message : str
        What the shop calls it; what the customer wrote.
    due : date or None
    pictures, revisions, colorways, lines, notes : tuple
    offer : Offer or None
        The price that stands; a change to design or lines takes it away.
    agreements : tuple of Agreement
        All that were made; only ``agreed`` stands.
    agreed : Agreement or None
    question : str
        What was asked and not answered yet.
    answers : tuple of (str, str)
        Questions with their answers.
    asked : tuple of AskedPoint
        Lettered points that were sent and not answered yet.
    settled : tuple of SettledPoint
        What answers to lettered points mean.
    sewouts : tuple of SewOut
        How it sewed, oldest first.
    reorder_of : int
        The job it repeats; 0 for none.
    opened_at, changed_at : datetime
        Of the first and the last entry.
    """

    id: int = 0
    version: int = 0
    state: JobState = JobState.ASKED
    customer: int = 0
    title: str = ""
    message: str = ""
    due: date | None = None
    pictures: tuple[ReceivedPicture, ...] = ()
    revisions: tuple[Revision, ...] = ()
    colorways: tuple[Colorway, ...] = ()
    lines: tuple[OrderLine, ...] = ()
    offer: Offer | None = None
    agreements: tuple[Agreement, ...] = ()
    agreed: Agreement | None = None
    question: str = ""
    answers: tuple[tuple[str, str], ...] = ()
    notes: tuple[Note, ...] = field(default=())
    sewouts: tuple[SewOut, ...] = ()
    asked: tuple[AskedPoint, ...] = ()
    settled: tuple[SettledPoint, ...] = ()
    reorder_of: int = 0
    opened_at: datetime = NEVER
    changed_at: datetime = NEVER

    @property
    def n_pieces(self) -> int:
        """Pieces ordered."""
        return count_pieces(self.lines)

    @property
    def revision(self) -> Revision | None:
        """The newest design."""
        return self.revisions[-1] if self.revisions else None

    @property
    def waiting(self) -> Waiting:
        """What the job waits for."""
        if self.state.is_open and self.question:
            return Waiting.ANSWER
        return {
            JobState.ASKED: Waiting.DRAFT,
            JobState.DRAFTED: Waiting.PRICE if self.lines else Waiting.PIECES,
            JobState.QUOTED: Waiting.YES,
            JobState.AGREED: Waiting.BLANKS,
            JobState.SUPPLIED: Waiting.SEWING,
            JobState.SEWING: Waiting.FINISHING,
            JobState.DONE: Waiting.NOTHING,
            JobState.DROPPED: Waiting.NOTHING,
        }[self.state]


def fold_events(events: Iterable[JobEvent], start: Job | None = None) -> Job:
    """Return the job that a log adds up to.

    Parameters
    ----------
    events : iterable of JobEvent
        In order, without gaps.
    start : Job or None
        The job before the first of them; None for an empty log.

    Raises
    ------
    ValueError
        When an entry is missing or belongs to another job: the log is damaged.
    """
    job = start or Job()
    for event in events:
        if event.number != job.version + 1 or (job.version and event.job != job.id):
            msg = f"entry {event.number} of job {event.job} follows {job.version} of {job.id}"
            raise ValueError(msg)
        told = _FOLDS[event.kind](job, event)
        opened = told.opened_at if job.version else event.at
        job = replace(told, id=event.job, version=event.number, opened_at=opened,
                      changed_at=event.at)  # fmt: skip
    return job


def _opened(job: Job, event: JobEvent) -> Job:
    return replace(_changed(job, event), reorder_of=event.figures.get("reorder_of", 0))


def _changed(job: Job, event: JobEvent) -> Job:
    """Take over the head's fields that the entry names."""
    new: dict[str, Any] = {k: event.figures[k] for k in ("customer",) if k in event.figures}
    new |= {k: event.words[k] for k in ("title", "message") if k in event.words}
    if "due" in event.figures:
        due = event.figures["due"]
        new["due"] = date.fromisoformat(due) if due else None
    return replace(job, **new)


def _picture(job: Job, event: JobEvent) -> Job:
    name = event.words.get("name", "")
    picture = ReceivedPicture(event.figures["hash"], name, event.figures["n_bytes"], event.at)
    others = tuple(p for p in job.pictures if p.hash != picture.hash)
    return replace(job, pictures=(*others, picture))


def _revision(job: Job, event: JobEvent) -> Job:
    reason = event.words.get("reason", "")
    revision = revision_from(event.figures, reason=reason, at=event.at)
    return _open_again(replace(job, revisions=(*job.revisions, revision)))


def _colorway(job: Job, event: JobEvent) -> Job:
    new = Colorway(event.figures["name"], tuple(event.figures["threads"]))
    others = tuple(c for c in job.colorways if c.name != new.name)
    return _open_again(replace(job, colorways=(*others, new)))


def _line(job: Job, event: JobEvent) -> Job:
    new = line_from(dict(event.figures), dict(event.words))
    lines = {line.number: line for line in job.lines} | {new.number: new}
    return _open_again(replace(job, lines=tuple(lines[n] for n in sorted(lines))))


def _line_removed(job: Job, event: JobEvent) -> Job:
    left = tuple(line for line in job.lines if line.number != event.figures["number"])
    return _open_again(replace(job, lines=left))


def _open_again(job: Job) -> Job:
    """Return the job back at its draft: what was offered and agreed was for something else."""
    if not job.state.is_open:
        return job
    state = JobState.DRAFTED if job.revisions else JobState.ASKED
    return replace(job, state=state, offer=None, agreed=None)


def _question(job: Job, event: JobEvent) -> Job:
    # Erased words leave a mark, so that the job still shows that something was asked.
    asked = points_from(event.figures.get("points", ()))
    return replace(job, question=event.words.get("text", "…"), asked=asked)


def _answer(job: Job, event: JobEvent) -> Job:
    said = event.words.get("text", "…")
    point = next((p for p in job.asked if p.letter == event.figures.get("letter")), None)
    if point is None:
        return replace(job, question="", asked=(), answers=(*job.answers, (job.question, said)))
    left = tuple(p for p in job.asked if p is not point)
    return replace(job, question=job.question if left else "", asked=left,
                   settled=settle(job.settled, event.figures),
                   answers=(*job.answers, (point.text, said)))  # fmt: skip


def _offer(job: Job, event: JobEvent) -> Job:
    figures = event.figures
    until = figures["valid_until"]
    offer = Offer(
        revision=figures["revision"],
        quantity=figures["quantity"],
        net=money_from(figures["net"]),
        total=money_from(figures["total"]),
        at=event.at,
        valid_until=date.fromisoformat(until) if until else None,
        free=figures.get("free", 0),
        is_rush=figures.get("is_rush", False),
        deposit=money_from(figures["deposit"]) if figures.get("deposit") else None,
    )
    return replace(job, offer=offer, state=JobState.QUOTED)


def _agreement(job: Job, event: JobEvent) -> Job:
    figures = event.figures
    names = event.words.get("names", {})
    lines = tuple(
        line_from(f, {"names": names.get(str(f["number"]), ())}) for f in figures["lines"]
    )
    agreed = Agreement(
        revision=figures["revision"],
        plan_id=figures["plan_id"],
        height_mm=figures["height_mm"],
        threads=tuple(figures["threads"]),
        colorways=tuple(Colorway(c["name"], tuple(c["threads"])) for c in figures["colorways"]),
        lines=lines,
        price=money_from(figures["price"]),
        at=event.at,
        said_by=event.words.get("said_by", ""),
    )
    return replace(job, agreed=agreed, agreements=(*job.agreements, agreed), question="",
                   asked=(), state=JobState.AGREED)  # fmt: skip


def _step(job: Job, event: JobEvent) -> Job:
    return replace(job, state=JobState(event.figures["state"]))


def _sewn_out(job: Job, event: JobEvent) -> Job:
    told = sewout_from(event.figures, event.words, at=event.at)
    return replace(job, sewouts=(*job.sewouts, told))


def _note(job: Job, event: JobEvent) -> Job:
    return replace(job, notes=(*job.notes, Note(event.words.get("text", ""), event.at)))


def _dropped(job: Job, event: JobEvent) -> Job:
    reason = event.words.get("reason", "")
    notes = (*job.notes, Note(reason, event.at)) if reason else job.notes
    return replace(job, state=JobState.DROPPED, notes=notes)


def _taken_up(job: Job, _event: JobEvent) -> Job:
    return _open_again(replace(job, state=JobState.ASKED))


def _erased(job: Job, _event: JobEvent) -> Job:
    return job


_FOLDS: dict[EventKind, Callable[[Job, JobEvent], Job]] = {
    EventKind.OPENED: _opened,
    EventKind.IMPORTED: _opened,
    EventKind.REORDERED: _opened,
    EventKind.CHANGED: _changed,
    EventKind.PICTURE: _picture,
    EventKind.REVISION: _revision,
    EventKind.COLORWAY: _colorway,
    EventKind.LINE: _line,
    EventKind.LINE_REMOVED: _line_removed,
    EventKind.QUESTION: _question,
    EventKind.ANSWER: _answer,
    EventKind.OFFER: _offer,
    EventKind.AGREEMENT: _agreement,
    EventKind.STEP: _step,
    EventKind.SEWN_OUT: _sewn_out,
    EventKind.NOTE: _note,
    EventKind.DROPPED: _dropped,
    EventKind.TAKEN_UP: _taken_up,
    EventKind.ERASED: _erased,
}
