"""A design worked out apart from its job, kept as the job's new revision when it may be.

Input: the revision as the worker wrote it down. Output: the job after it. A design that was only
tried never takes a price or a yes away; one that a person asked to keep does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from firstpiece.model import job_rules as rules
from firstpiece.model.design import revision_from
from firstpiece.model.job import JobState
from firstpiece.shop.book import now, open_book
from firstpiece.store import jobs as job_rows

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.design import Revision
    from firstpiece.model.job import Job

OPEN_TO_TRIES = (JobState.ASKED, JobState.DRAFTED)


def worked_out(figures: Mapping[str, Any], *, reason: str) -> Revision:
    """Return the design whose figures a worker wrote down, as of now."""
    return revision_from(figures, reason=reason, at=now())


def keep_tried(number: int, revision: Revision) -> Job:
    """Keep a design that was tried while nothing was offered yet; else leave the job as it is."""
    return _keep(number, revision, only=OPEN_TO_TRIES)


def keep_design(number: int, revision: Revision, *, expected: int | None = None) -> Job:
    """Keep a design as a job's newest; what was offered and agreed for another is open again.

    Raises
    ------
    JobError, StaleError
        When the job is being sewn or done, or somebody changed it.
    """
    return _keep(number, revision, only=tuple(JobState), expected=expected)


def is_newest(job: Job, revision: Revision) -> bool:
    """Return whether a design is the job's newest: the same plan, priced for as many pieces."""
    newest = job.revision
    return newest is not None and _mark(newest) == _mark(revision)


def _mark(revision: Revision) -> tuple[object, ...]:
    return (revision.plan_id, revision.garment, revision.thread, revision.quantity)


def _keep(
    number: int, revision: Revision, *, only: tuple[JobState, ...], expected: int | None = None
) -> Job:
    def decide(job: Job) -> rules.Drafts:
        if job.state not in only or is_newest(job, revision):
            return ()
        return rules.revise(job, revision)

    with open_book().write() as connection:
        return job_rows.change_job(connection, number, decide, at=now(), expected=expected)
