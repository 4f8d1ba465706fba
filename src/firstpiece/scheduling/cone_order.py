"""A head's order, changed where that saves changes of cones and makes nothing later.

Input: the jobs of one head in order. Output: an order with fewer cone changes whose late jobs and
lateness, the minutes of the changes counted in, are no worse.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.scheduling.needle_loading import load_best_order

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.day import Head, SewingJob
    from firstpiece.scheduling.needle_chart import ConeTable

EXACT_JOBS = 7
"""Up to so many jobs the fewest changes are proved by trying every order."""

MOST_PASSES = 6


@dataclass(frozen=True, slots=True)
class HeadQueue:
    """The jobs of one head, its cones, and the minutes one change of a cone takes."""

    jobs: Sequence[SewingJob]
    head: Head
    table: ConeTable
    change_min: float

    def judge(self, order: Sequence[int]) -> tuple[int, float, int, float]:
        """Return late jobs, minutes of lateness, cone changes and the end of an order."""
        changes = self.table.count_changes(order)
        clock, n_late, late_min = self.first_minutes(order), 0, 0.0
        for at, n in zip(order, changes, strict=True):
            job = self.jobs[at]
            clock = max(clock, job.ready_min) + n * self.change_min + job.minutes_on(self.head)
            over = clock - job.due_min
            if over > 0:
                n_late += 1
                late_min += over
        return n_late, round(late_min, 6), sum(changes), round(clock, 6)

    def first_minutes(self, order: Sequence[int]) -> float:
        """Return the minutes until the cones that the first jobs need are on."""
        loaded = self.table.load(order)[0]
        there = {cone for cone in self.head.loaded if cone is not None}
        put_on = int(loaded.sum()) - len(there)
        return max(0, put_on) * self.change_min


def save_changes(queue: HeadQueue, order: Sequence[int]) -> tuple[int, ...]:
    """Return an order that is no later and has no more cone changes than the one given.

    Notes
    -----
    Each job in turn is moved to the place where the judgement is best; passes go on while one
    helps.
    """
    best = tuple(order)
    judged = queue.judge(best)
    for _pass in range(MOST_PASSES):
        before = judged
        for job in best:
            rest = [j for j in best if j != job]
            for place in range(len(best)):
                trial = (*rest[:place], job, *rest[place:])
                if (now := queue.judge(trial)) < judged:
                    best, judged = trial, now
        if judged == before:
            break
    return best


def bound_changes(queue: HeadQueue) -> int:
    """Return a number of cone changes that no order of these jobs can stay under."""
    names = [frozenset(map(repr, job.cones)) for job in queue.jobs]
    if not names:
        return 0
    if len(names) <= EXACT_JOBS:
        return load_best_order(names, needles=queue.head.needles).bound
    return max(0, len(frozenset().union(*names)) - queue.head.needles)
