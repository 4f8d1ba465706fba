"""One head's order of jobs: as few late as can be, then the least lateness.

Input: jobs by index with minutes, due and ready times. Output: their order and its ``Cost``. Works
on plain numbers, since a day plan asks for it thousands of times.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.scheduling.due_dates import fewest_late

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, order=True)
class Cost:
    """How bad an order is: late jobs first, then their minutes of lateness, then its end."""

    n_late: int
    late_min: float
    end_min: float


@dataclass(frozen=True, slots=True)
class JobTimes:
    """Minutes, due and ready times of all jobs on one head, by the jobs' index."""

    minutes: Sequence[float]
    due: Sequence[float]
    ready: Sequence[float]


def order_jobs(jobs: Sequence[int], times: JobTimes) -> tuple[tuple[int, ...], Cost]:
    """Return an order of some jobs on the head, and its cost.

    Parameters
    ----------
    jobs : sequence of int
        Indices into ``times``.
    times : JobTimes

    Notes
    -----
    When all are ready, the jobs that can be on time come by due date and the late ones behind
    them, the shortest first: no order has fewer late jobs (Moore and Hodgson). Jobs that are not
    ready yet let ready ones pass; that part is a rule of thumb.
    """
    answer = fewest_late([times.minutes[j] for j in jobs], [times.due[j] for j in jobs])
    on_time = [jobs[i] for i in answer.on_time]
    late = sorted((jobs[i] for i in answer.late), key=lambda j: (times.minutes[j], j))
    wanted = [*on_time, *late]
    if any(times.ready[j] > 0 for j in jobs):
        wanted = _let_ready_pass(wanted, times)
    order = tuple(wanted)
    return order, cost_of(order, times)


def cost_of(order: Sequence[int], times: JobTimes) -> Cost:
    """Return the cost of sewing in this order, each job begun as soon as it is ready."""
    clock, n_late, late_min = 0.0, 0, 0.0
    for job in order:
        clock = max(clock, times.ready[job]) + times.minutes[job]
        over = clock - times.due[job]
        if over > 0:
            n_late += 1
            late_min += over
    return Cost(n_late, late_min, clock)


def _let_ready_pass(wanted: Sequence[int], times: JobTimes) -> list[int]:
    """Return the order in which a head never stands still while something is ready."""
    rank = {job: i for i, job in enumerate(wanted)}
    arriving = sorted(wanted, key=lambda j: (times.ready[j], rank[j]))
    waiting: list[tuple[int, int]] = []
    order: list[int] = []
    clock, next_up = 0.0, 0
    while len(order) < len(wanted):
        while next_up < len(arriving) and times.ready[arriving[next_up]] <= clock:
            job = arriving[next_up]
            heapq.heappush(waiting, (rank[job], job))
            next_up += 1
        if not waiting:
            clock = times.ready[arriving[next_up]]
            continue
        _rank, job = heapq.heappop(waiting)
        order.append(job)
        clock += times.minutes[job]
    return order
