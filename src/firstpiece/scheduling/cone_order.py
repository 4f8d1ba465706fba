"""Orders of jobs on heads, bettered with the minutes of cone changes counted in.

Input: each head's jobs in order. Output: orders whose late jobs, lateness and cone changes are no
worse: first within a head, then by moving single jobs to other heads.
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

MOST_JUDGED = 5_000
"""Orders looked at when jobs move between heads; a quarter of a second."""

Judgement = tuple[int, float, int, float]
"""Late jobs, minutes of lateness, cone changes, end [min]; less is better."""


@dataclass(frozen=True, slots=True)
class HeadQueue:
    """All jobs, one head, the cones, and the minutes one change of a cone takes.

    Orders are made of indices into ``jobs``; those of one head are a part of them.
    """

    jobs: Sequence[SewingJob]
    head: Head
    table: ConeTable
    change_min: float

    def judge(self, order: Sequence[int]) -> Judgement:
        """Return how good an order is."""
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


def move_between(
    queues: Sequence[HeadQueue], orders: Sequence[tuple[int, ...]], able: Sequence[frozenset[int]]
) -> list[tuple[int, ...]]:
    """Return orders after moving single jobs to other heads while that betters the whole.

    Parameters
    ----------
    queues : sequence of HeadQueue
    orders : sequence of tuple of int
        One for each head.
    able : sequence of frozenset of int
        The jobs each head can take.
    """
    now = list(orders)
    judged = [queue.judge(order) for queue, order in zip(queues, now, strict=True)]
    n_judged, improved = 0, True
    while improved and n_judged < MOST_JUDGED:
        improved = False
        for job in sorted(j for order in now for j in order):
            one = next(h for h, order in enumerate(now) if job in order)
            rest = tuple(j for j in now[one] if j != job)
            left = queues[one].judge(rest)
            for other in range(len(now)):
                if other == one or job not in able[other]:
                    continue
                place, gained = _best_place(queues[other], now[other], job)
                n_judged += len(now[other]) + 1
                if _sum(left, gained) < _sum(judged[one], judged[other]):
                    now[one], now[other] = rest, place
                    judged[one], judged[other] = left, gained
                    improved = True
                    break
            if n_judged >= MOST_JUDGED:
                break
    return now


def _best_place(
    queue: HeadQueue, order: tuple[int, ...], job: int
) -> tuple[tuple[int, ...], Judgement]:
    trials = [(*order[:at], job, *order[at:]) for at in range(len(order) + 1)]
    return min(((t, queue.judge(t)) for t in trials), key=lambda pair: (pair[1], pair[0]))


def _sum(one: Judgement, other: Judgement) -> tuple[int, float, int, float]:
    """Return two heads' judgements together; ends count by their squares, so that heads level."""
    return (
        one[0] + other[0],
        round(one[1] + other[1], 6),
        one[2] + other[2],
        round(one[3] ** 2 + other[3] ** 2, 3),
    )


def bound_changes(queue: HeadQueue, order: Sequence[int]) -> int:
    """Return a number of cone changes that no order of these jobs can stay under."""
    names = [frozenset(map(repr, queue.jobs[at].cones)) for at in order]
    if not names:
        return 0
    if len(names) <= EXACT_JOBS:
        return load_best_order(names, needles=queue.head.needles).bound
    return max(0, len(frozenset().union(*names)) - queue.head.needles)
