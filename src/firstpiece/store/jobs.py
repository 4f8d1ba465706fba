"""Jobs: one action writes its log entries and what they add up to in one transaction.

A change says which version it was made from; when the job has moved on, nothing is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from itertools import groupby
from typing import TYPE_CHECKING, Any

from sqlalchemy import Select, insert, literal, select, tuple_, update

from firstpiece.errors import JobError
from firstpiece.model.job import Job, JobState, Waiting, fold_events
from firstpiece.model.job_event import EventKind
from firstpiece.model.order import LINE_FIELDS
from firstpiece.store.counters import next_number
from firstpiece.store.customers import stale
from firstpiece.store.log import add_to_log, read_log, read_whole_log
from firstpiece.store.schema import CUSTOMERS, JOB_PICTURES, JOB_WORDS, JOBS, PICTURES, DayText
from firstpiece.store.search import find_words, put_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from datetime import date, datetime

    from sqlalchemy import Connection

    from firstpiece.model.job_event import EventDraft, JobEvent
    from firstpiece.model.job_rules import Drafts


@dataclass(frozen=True, slots=True)
class JobSummary:
    """A job as a list shows it."""

    id: int
    state: JobState
    customer: int
    customer_name: str
    title: str
    waiting: Waiting
    due: date | None
    n_pieces: int
    opened_at: datetime
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class JobFilter:
    """Which jobs a list shows; ``is_open`` None shows finished ones too."""

    is_open: bool | None = None
    state: JobState | None = None
    customer: int | None = None
    due_by: date | None = None


def create_job(connection: Connection, drafts: Drafts, *, at: datetime, wanted: int = 0) -> Job:
    """Write a new job from its first entries and return it.

    Parameters
    ----------
    connection : sqlalchemy.Connection
        Of ``ShopStore.write``.
    drafts : tuple of EventDraft
    at : datetime
    wanted : int
        The number it must get; 0 takes the next.
    """
    number = next_number(connection, "job", wanted=wanted)
    # The row must be there before its log; its values follow from the log a moment later.
    empty = _row(Job(id=number, version=1, opened_at=at, changed_at=at))
    connection.execute(insert(JOBS).values(empty))
    return _write(connection, Job(), number, drafts, at)


def change_job(
    connection: Connection,
    number: int,
    decide: Callable[[Job], Drafts],
    *,
    at: datetime,
    expected: int | None = None,
) -> Job:
    """Write what an action decides on a job as it stands now, and return the job after it.

    Parameters
    ----------
    connection : sqlalchemy.Connection
        Of ``ShopStore.write``.
    number : int
    decide : callable
        Given the job, returns the entries to add; none leaves everything as it is.
    at : datetime
    expected : int or None
        The version the person saw; None takes the job as it is.

    Raises
    ------
    StaleError
        When the job is no longer at that version.
    JobError
        When there is no such job, or the action makes no sense.
    """
    # Where several may write at once, the next one waits here until this one is through.
    connection.execute(select(JOBS.c.id).where(JOBS.c.id == number).with_for_update())
    job = read_job(connection, number)
    if expected is not None and expected != job.version:
        raise stale(_("job {number}").format(number=number))
    drafts = decide(job)
    return _write(connection, job, number, drafts, at) if drafts else job


def read_job(connection: Connection, number: int) -> Job:
    """Return the job its log adds up to.

    Raises
    ------
    JobError
        When there is no such job.
    """
    events = read_log(connection, number)
    if not events:
        raise JobError(
            _("there is no job {number}").format(number=number),
            remedy=_("look it up in the list of jobs"),
        )
    return fold_events(events)


def read_all_jobs(connection: Connection) -> Iterator[Job]:
    """Yield every job as it stands, by number."""
    for _number, events in groupby(read_whole_log(connection), key=lambda event: event.job):
        yield fold_events(events)


def list_jobs(
    connection: Connection,
    wanted: JobFilter,
    *,
    limit: int,
    after: tuple[date | None, int] | None = None,
) -> tuple[JobSummary, ...]:
    """Return jobs, the first due first, from behind the (due, number) of ``after``."""
    rows = _summaries().order_by(JOBS.c.due, JOBS.c.id).limit(limit)
    if wanted.is_open is not None:
        rows = rows.where(JOBS.c.is_open == int(wanted.is_open))
    if wanted.state is not None:
        rows = rows.where(JOBS.c.state == str(wanted.state))
    if wanted.customer is not None:
        rows = rows.where(JOBS.c.customer_id == wanted.customer)
    if wanted.due_by is not None:
        rows = rows.where(JOBS.c.due <= wanted.due_by)
    if after is not None:
        rows = rows.where(
            tuple_(JOBS.c.due, JOBS.c.id) > tuple_(literal(after[0], DayText), after[1])
        )
    return tuple(_summary(row) for row in connection.execute(rows).mappings())


def find_jobs(connection: Connection, query: str, *, limit: int) -> tuple[JobSummary, ...]:
    """Return jobs by words, the newest first."""
    found = find_words(connection, JOB_WORDS, query, limit=limit) or ()
    rows = _summaries().where(JOBS.c.id.in_(found)).order_by(JOBS.c.id.desc())
    return tuple(_summary(row) for row in connection.execute(rows).mappings())


def jobs_of(connection: Connection, customer: int) -> tuple[int, ...]:
    """Return the numbers of a customer's jobs, in order."""
    wanted = select(JOBS.c.id).where(JOBS.c.customer_id == customer).order_by(JOBS.c.id)
    return tuple(connection.scalars(wanted))


def draft_with_picture(connection: Connection, key: str) -> int:
    """Return the newest job that is a picture and its drafts so far, 0 when there is none.

    Nobody's name and no pieces are with it, so the same picture for somebody else is another job.
    """
    joined = JOBS.join(JOB_PICTURES, JOB_PICTURES.c.job_id == JOBS.c.id)
    states = [str(state) for state in (JobState.ASKED, JobState.DRAFTED)]
    wanted = (
        select(JOBS.c.id)
        .select_from(joined)
        .where(JOB_PICTURES.c.hash == key, JOBS.c.state.in_(states))
        .where(JOBS.c.customer_id.is_(None), JOBS.c.n_pieces == 0)
        .order_by(JOBS.c.id.desc())
    )
    return connection.scalar(wanted.limit(1)) or 0


def project_job(connection: Connection, job: Job) -> None:
    """Write what lists and searches need to know of a job."""
    connection.execute(update(JOBS).where(JOBS.c.id == job.id).values(_row(job)))
    make_findable(connection, job)


def make_findable(connection: Connection, job: Job) -> None:
    """Have a search find a job by what it holds now and by its customer's name."""
    name = connection.scalar(select(CUSTOMERS.c.name).where(CUSTOMERS.c.id == job.customer))
    put_words(connection, JOB_WORDS, job.id, _texts(job, name or ""))


def projected_row(job: Job) -> dict[str, Any]:
    """Return the row of ``jobs`` that a job's log adds up to."""
    return _row(job)


def _write(connection: Connection, job: Job, number: int, drafts: Drafts, at: datetime) -> Job:
    for draft in drafts:
        _check_customer(connection, draft)
    events = add_to_log(connection, number, drafts, after=job.version, at=at)
    new = fold_events(events, job)
    row = _row(new)
    # The old version once more in the condition: PostgreSQL may let two actions get this far.
    done = connection.execute(
        update(JOBS).where(JOBS.c.id == number, JOBS.c.version == max(1, job.version)).values(row)
    )
    if done.rowcount != 1:
        raise stale(_("job {number}").format(number=number))
    _keep_pictures(connection, events)
    make_findable(connection, new)
    return new


def _check_customer(connection: Connection, draft: EventDraft) -> None:
    number = draft.figures.get("customer", 0)
    if not number:
        return
    wanted = select(CUSTOMERS.c.id).where(CUSTOMERS.c.id == number, CUSTOMERS.c.erased_at.is_(None))
    if connection.scalar(wanted) is None:
        raise JobError(
            _("there is no customer {number}").format(number=number),
            remedy=_("look them up in the list of customers"),
        )


def _keep_pictures(connection: Connection, events: Iterable[JobEvent]) -> None:
    for event in events:
        for told in _told_pictures(event):
            key, n_bytes = told["hash"], told["n_bytes"]
            if connection.scalar(select(PICTURES.c.hash).where(PICTURES.c.hash == key)) is None:
                values = {"hash": key, "n_bytes": n_bytes, "arrived_at": event.at}
                connection.execute(insert(PICTURES).values(values))
            row = {"job_id": event.job, "hash": key}
            held = select(JOB_PICTURES.c.hash).filter_by(**row)
            if connection.scalar(held) is None:
                connection.execute(insert(JOB_PICTURES).values(row))


def _told_pictures(event: JobEvent) -> tuple[Any, ...]:
    """Return hash and size of each picture that an entry brings: artwork, or photos of a piece."""
    if event.kind == EventKind.PICTURE:
        return (event.figures,)
    return tuple(event.figures["photos"]) if event.kind == EventKind.SEWN_OUT else ()


def _texts(job: Job, customer: str) -> tuple[str, ...]:
    """Return everything of a job that it may be found by."""
    lines = [
        text
        for line in job.lines
        for text in (*(getattr(line, field) for field in LINE_FIELDS), *line.names)
    ]
    designs = [text for r in job.revisions for text in (r.reason, r.garment, r.plan_id, *r.threads)]
    said = [text for pair in job.answers for text in pair] + [note.text for note in job.notes]
    seen = [text for one in job.sewouts for text in (one.garment, one.seen, one.change)]
    agreed = [agreement.said_by for agreement in job.agreements]
    names = [picture.name for picture in job.pictures] + [c.name for c in job.colorways]
    return (str(job.id), job.title, job.message, customer, str(job.state), job.question,
            *lines, *designs, *said, *seen, *agreed, *names)  # fmt: skip


def _row(job: Job) -> dict[str, Any]:
    return {
        "id": job.id,
        "version": job.version,
        "state": str(job.state),
        "is_open": int(job.state.is_open),
        "customer_id": job.customer or None,
        "title": job.title,
        "waiting": str(job.waiting),
        "due": job.due,
        "n_pieces": job.n_pieces,
        "opened_at": job.opened_at,
        "changed_at": job.changed_at,
    }


def _summaries() -> Select[Any]:
    columns = (JOBS.c.id, JOBS.c.state, JOBS.c.customer_id, JOBS.c.title, JOBS.c.waiting,
               JOBS.c.due, JOBS.c.n_pieces, JOBS.c.opened_at, JOBS.c.changed_at)  # fmt: skip
    joined = JOBS.outerjoin(CUSTOMERS, CUSTOMERS.c.id == JOBS.c.customer_id)
    return select(*columns, CUSTOMERS.c.name).select_from(joined)


def _summary(row: Any) -> JobSummary:
    return JobSummary(
        id=row["id"],
        state=JobState(row["state"]),
        customer=row["customer_id"] or 0,
        customer_name=row["name"] or "",
        title=row["title"],
        waiting=Waiting(row["waiting"]),
        due=row["due"],
        n_pieces=row["n_pieces"],
        opened_at=row["opened_at"],
        changed_at=row["changed_at"],
    )
