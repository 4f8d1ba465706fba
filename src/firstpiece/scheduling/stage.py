"""The day: jobs to heads by due date, cones to needles, and what will be late."""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.day import DayPlan, HeadPlan, Slot, Waiting
from firstpiece.scheduling.cone_order import HeadQueue, bound_changes, move_between, save_changes
from firstpiece.scheduling.head_order import JobTimes
from firstpiece.scheduling.late_bound import bound_late
from firstpiece.scheduling.needle_chart import chart_needles, make_cone_table
from firstpiece.scheduling.share_jobs import HeadRoom, share_jobs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.day import Head, SewingJob

CHANGE_MIN = 2.0
"""To take a cone off, tie on the next and draw it through (guess; a timed change replaces it)."""


def plan_day(
    jobs: Sequence[SewingJob], heads: Sequence[Head], *, change_min: float = CHANGE_MIN
) -> DayPlan:
    """Return who sews what when, with as few late jobs as the search finds.

    Parameters
    ----------
    jobs : sequence of SewingJob
    heads : sequence of Head
        At least one.
    change_min : float [min]
        To change one cone.

    Returns
    -------
    DayPlan
        Every job is on one head or among those that wait. ``late_bound`` and ``changes_bound`` say
        how far the plan can be from the best at most.

    Raises
    ------
    InputError
        When there is no head.

    Notes
    -----
    Jobs are shared out by due date and the sharing is bettered by moves and swaps; each head's
    order has the fewest late jobs (Moore and Hodgson) and then as few changes of cones as moves of
    single jobs can save without making anything later.
    """
    if not heads:
        raise InputError(_("the shop has no machine"), remedy=_("write a machine card"))
    queue = sorted(jobs, key=_job_order)
    waiting = tuple(w for job in queue if (w := _waits(job, heads)) is not None)
    ready = [job for job in queue if _waits(job, heads) is None]
    plans = _plan_heads(ready, heads, change_min=change_min, spare_min=0.0)
    n_changes = sum(plan.n_changes for plan, _bound in plans)
    if n_changes and any(slot.is_late for plan, _bound in plans for slot in plan.slots):
        # The first sharing knew nothing of the minutes that changes take; now it is known how many
        # there are, so it is tried once more with time kept for them.
        spare = n_changes * change_min / max(1, len(ready))
        again = _plan_heads(ready, heads, change_min=change_min, spare_min=spare)
        plans = min(plans, again, key=_badness)
    return DayPlan(
        heads=tuple(plan for plan, _bound in plans),
        waiting=waiting,
        late_bound=bound_late(ready, heads),
        changes_bound=sum(bound for _plan, bound in plans),
    )


def _plan_heads(
    jobs: Sequence[SewingJob], heads: Sequence[Head], *, change_min: float, spare_min: float
) -> list[tuple[HeadPlan, int]]:
    """Return each head's plan and the bound on its changes; ``spare_min`` is kept for each job."""
    numbers = {cone: i for i, cone in enumerate(sorted({c for job in jobs for c in job.cones}))}
    cones = [sum(1 << numbers[cone] for cone in set(job.cones)) for job in jobs]
    rooms = [
        HeadRoom(
            _times(jobs, head, spare_min),
            frozenset(i for i, job in enumerate(jobs) if job.fits(head)),
            cones,
            head.needles,
            change_min,
        )
        for head in heads
    ]
    queues = [HeadQueue(jobs, head, make_cone_table(jobs, head), change_min) for head in heads]
    shared = [save_changes(q, mine) for q, mine in zip(queues, share_jobs(rooms), strict=True)]
    orders = move_between(queues, shared, [room.able for room in rooms])
    return [_plan_head(queue, order) for queue, order in zip(queues, orders, strict=True)]


def _badness(plans: Sequence[tuple[HeadPlan, int]]) -> tuple[int, float, int]:
    late = [slot.late_min for plan, _bound in plans for slot in plan.slots if slot.is_late]
    return (len(late), round(sum(late), 6), sum(plan.n_changes for plan, _bound in plans))


def _job_order(job: SewingJob) -> tuple[float, int, str]:
    """Return a complete order, so that the plan does not depend on the order of asking."""
    return (job.due_min, job.job, repr(job))


def _waits(job: SewingJob, heads: Sequence[Head]) -> Waiting | None:
    """Return why a job cannot be put on a head, or None."""
    if job.blocked:
        return Waiting(job, job.blocked)
    if not math.isfinite(job.ready_min):
        return Waiting(job, _("missing: {things}").format(things=", ".join(job.missing)))
    if not any(job.fits(head) for head in heads):
        most = max(head.needles for head in heads)
        text = _("it needs {n} cones and no machine has more than {most} needles")
        return Waiting(job, text.format(n=len(set(job.cones)), most=most))
    return None


def _times(jobs: Sequence[SewingJob], head: Head, spare_min: float) -> JobTimes:
    return JobTimes(
        [job.minutes_on(head) + spare_min for job in jobs],
        [job.due_min for job in jobs],
        [job.ready_min for job in jobs],
    )


def _plan_head(queue: HeadQueue, order: Sequence[int]) -> tuple[HeadPlan, int]:
    head, change_min = queue.head, queue.change_min
    order = save_changes(queue, order)
    chart = chart_needles(queue.table, order, head)
    clock = len(chart.first_loading) * change_min
    slots = []
    for at, changes, needles in zip(order, chart.changes, chart.needles, strict=True):
        job = queue.jobs[at]
        begin = max(clock, job.ready_min)
        clock = begin + len(changes) * change_min + job.minutes_on(head)
        slots.append(Slot(job, begin, clock, changes, needles, max(0.0, clock - job.due_min)))
    return HeadPlan(head, tuple(slots), chart.first_loading), bound_changes(queue, order)
