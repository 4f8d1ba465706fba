"""A job's log as rows: entries are read in order and only ever added."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select

from firstpiece.model.job_event import EventKind, JobEvent
from firstpiece.store.schema import JOB_LOG, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from firstpiece.model.job_event import EventDraft

ROWS_AT_ONCE = 2000


def read_log(connection: Connection, job: int) -> tuple[JobEvent, ...]:
    """Return all entries of a job, oldest first; none when there is no such job."""
    wanted = select(JOB_LOG).where(JOB_LOG.c.job_id == job).order_by(JOB_LOG.c.number)
    return tuple(_event(row) for row in connection.execute(wanted))


def read_whole_log(connection: Connection) -> Iterator[JobEvent]:
    """Yield all entries of all jobs, job by job, each oldest first."""
    wanted = select(JOB_LOG).order_by(JOB_LOG.c.job_id, JOB_LOG.c.number)
    # Said of this statement alone: said of the connection it would hold for whatever follows on it.
    for row in connection.execute(wanted, execution_options={"yield_per": ROWS_AT_ONCE}):
        yield _event(row)


def add_to_log(
    connection: Connection, job: int, drafts: Sequence[EventDraft], *, after: int, at: datetime
) -> tuple[JobEvent, ...]:
    """Write entries after number ``after`` and return them."""
    # What is folded now must be what is read later, so values go through the text they become.
    events = tuple(
        JobEvent(job, number, at, draft.kind, plain(draft.figures), plain(draft.words))
        for number, draft in enumerate(drafts, start=after + 1)
    )
    rows = [
        {
            "job_id": job,
            "number": event.number,
            "at": at,
            "kind": str(event.kind),
            "figures": event.figures,
            "words": event.words,
        }
        for event in events
    ]
    connection.execute(insert(JOB_LOG), rows)
    return events


def _event(row: Any) -> JobEvent:
    job, number, at, kind, figures, words = row
    return JobEvent(job, number, at, EventKind(kind), figures, words)
