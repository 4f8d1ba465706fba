"""The part of a job that a table of jobs carries: its head, its state and its lines."""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.job import JobState
from firstpiece.model.job_event import EventDraft, EventKind
from firstpiece.model.plain_text import clean_line, clean_text

if TYPE_CHECKING:
    from datetime import date

    from firstpiece.model.job import Job
    from firstpiece.model.job_rules import Drafts
    from firstpiece.model.order import OrderLine


@dataclass(frozen=True, slots=True)
class JobEntry:
    """A job as a row of a table; ``number`` 0 asks for a new number, ``customer`` 0 is none."""

    number: int
    customer: int
    title: str
    state: JobState = JobState.ASKED
    due: date | None = None
    message: str = ""
    lines: tuple[OrderLine, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", clean_line(self.title, where=_("title")))
        object.__setattr__(self, "message", clean_text(self.message, where=_("message")))
        if not self.title:
            raise InputError(_("the job has no title"), remedy=_("say in a few words what it is"))
        numbers = [line.number for line in self.lines]
        if numbers != sorted(set(numbers)) or any(n < 1 for n in numbers):
            raise InputError(
                _("the lines of a job need different numbers from 1 up"),
                remedy=_("number them in order"),
            )


def entry_of(job: Job) -> JobEntry:
    """Return what a table carries of a job."""
    return JobEntry(job.id, job.customer, job.title or _("erased"), job.state, job.due,
                    job.message, job.lines)  # fmt: skip


def import_job(entry: JobEntry) -> Drafts:
    """Return the first entries of the log of a job that comes from a table."""
    figures = {"customer": entry.customer, "due": entry.due.isoformat() if entry.due else None}
    drafts = [EventDraft(EventKind.IMPORTED, figures,
                         {"title": entry.title, "message": entry.message})]  # fmt: skip
    drafts += [EventDraft(EventKind.LINE, line.figures(), line.words()) for line in entry.lines]
    if entry.state != JobState.ASKED:
        drafts.append(EventDraft(EventKind.STEP, {"state": str(entry.state)}))
    return tuple(drafts)


def with_customer(entry: JobEntry, customer: int) -> JobEntry:
    """Return the same entry for another customer."""
    return replace(entry, customer=customer)
