"""Sew-outs over all jobs: what was written in any job's log about one garment."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from firstpiece.model.job_event import EventKind
from firstpiece.model.sewout import SewOut, sewout_from
from firstpiece.store.schema import JOB_LOG, JOBS

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class SewnBefore:
    """A sew-out and the job it was made for; the title is empty once the customer is erased."""

    job: int
    title: str
    sewout: SewOut


def list_sewouts(connection: Connection, garment: str, *, limit: int) -> tuple[SewnBefore, ...]:
    """Return the sew-outs on a garment, newest first, at most ``limit``."""
    log = JOB_LOG.c
    wanted = (
        select(log.job_id, JOBS.c.title, log.figures, log.words, log.at)
        .join(JOBS, JOBS.c.id == log.job_id)
        .where(log.kind == str(EventKind.SEWN_OUT))
        .order_by(log.at.desc(), log.job_id.desc(), log.number.desc())
    )
    found = []
    for job, title, figures, words, at in connection.execute(wanted):
        if figures["garment"] == garment:
            found.append(SewnBefore(job, title, sewout_from(figures, words, at=at)))
        if len(found) == limit:
            break
    return tuple(found)
