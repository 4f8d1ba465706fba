"""Jobs to heads: a first sharing by due date, then moves and swaps as long as they help.

Input: what each head can take and how long it takes, and the cones of each job. Output: the jobs of
each head. How far it may be from the best is told by ``late_bound``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from firstpiece.scheduling.head_order import Cost, JobTimes, order_jobs

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

MOST_TRIALS = 4_000
"""Sets of jobs looked at before the search stops; a fifth of a second for 60 jobs on 4 heads."""


@dataclass(frozen=True, slots=True)
class HeadRoom:
    """What one head can do: ``cones`` has for each job the bits of its cones.

    ``able`` are the jobs it can take; each cone over its ``needles`` costs ``change_min`` minutes.
    """

    times: JobTimes
    able: frozenset[int]
    cones: Sequence[int]
    needles: int
    change_min: float


@dataclass(slots=True)
class _Sharing:
    """Jobs of each head with the cost of its order; costs of a set of jobs are kept."""

    rooms: Sequence[HeadRoom]
    jobs: list[tuple[int, ...]]
    known: dict[tuple[int, tuple[int, ...]], Cost] = field(default_factory=dict)
    n_trials: int = 0

    def cost(self, head: int, jobs: tuple[int, ...]) -> Cost:
        key = (head, jobs)
        if key not in self.known:
            self.known[key] = _cost(self.rooms[head], jobs)
            self.n_trials += 1
        return self.known[key]

    def try_pair(self, changed: dict[int, tuple[int, ...]]) -> bool:
        """Take the new jobs of some heads over when that costs less."""
        before = [self.cost(head, self.jobs[head]) for head in changed]
        after = [self.cost(head, jobs) for head, jobs in changed.items()]
        if _total(after) >= _total(before):
            return False
        for head, jobs in changed.items():
            self.jobs[head] = jobs
        return True


def share_jobs(rooms: Sequence[HeadRoom]) -> tuple[tuple[int, ...], ...]:
    """Return the jobs of each head in sewing order.

    Parameters
    ----------
    rooms : sequence of HeadRoom
        One for each head; the jobs that they can take are together all jobs.
    """
    every: frozenset[int] = frozenset().union(*(room.able for room in rooms))
    jobs = sorted(every, key=lambda j: (rooms[0].times.due[j], j))
    sharing = _Sharing(rooms, [()] * len(rooms))
    for job in jobs:
        _give_to_best(sharing, job)
    while sharing.n_trials < MOST_TRIALS and _improve(sharing):
        pass
    return tuple(order_jobs(mine, rooms[h].times)[0] for h, mine in enumerate(sharing.jobs))


def _cost(room: HeadRoom, jobs: tuple[int, ...]) -> Cost:
    """Return the cost of a head's jobs; the end has the changes added that no order can save."""
    cost = order_jobs(jobs, room.times)[1]
    needed = 0
    for job in jobs:
        needed |= room.cones[job]
    over = max(0, needed.bit_count() - room.needles)
    return Cost(cost.n_late, cost.late_min, cost.end_min + over * room.change_min)


def _give_to_best(sharing: _Sharing, job: int) -> None:
    """Give a job to the head where it makes things least worse."""
    trials = []
    for head, mine in enumerate(sharing.jobs):
        if job in sharing.rooms[head].able:
            more = sharing.cost(head, _with(mine, job))
            now = sharing.cost(head, mine)
            added = (more.n_late - now.n_late, more.late_min - now.late_min, more.end_min)
            trials.append((added, head))
    _added, best = min(trials)
    sharing.jobs[best] = _with(sharing.jobs[best], job)


def _improve(sharing: _Sharing) -> bool:
    """Make one pass over all moves, then all swaps; return whether anything helped."""
    helped = False
    for changed in _moves(sharing):
        helped = sharing.try_pair(changed) or helped
        if sharing.n_trials >= MOST_TRIALS:
            return helped
    if helped:
        return True
    for changed in _swaps(sharing):
        helped = sharing.try_pair(changed) or helped
        if sharing.n_trials >= MOST_TRIALS:
            return helped
    return helped


def _moves(sharing: _Sharing) -> Iterator[dict[int, tuple[int, ...]]]:
    """Yield every way to give one job to another head, as things stand when it is asked for."""
    for one in range(len(sharing.jobs)):
        for job in sharing.jobs[one]:
            for other in range(len(sharing.jobs)):
                if other == one or job not in sharing.rooms[other].able:
                    continue
                if job in sharing.jobs[one]:
                    yield {
                        one: _without(sharing.jobs[one], job),
                        other: _with(sharing.jobs[other], job),
                    }


def _swaps(sharing: _Sharing) -> Iterator[dict[int, tuple[int, ...]]]:
    """Yield every exchange of two jobs between two heads."""
    n = len(sharing.jobs)
    for one in range(n):
        for other in range(one + 1, n):
            for a in sharing.jobs[one]:
                for b in sharing.jobs[other]:
                    mine, theirs = sharing.jobs[one], sharing.jobs[other]
                    if a not in mine or b not in theirs:
                        continue
                    if a in sharing.rooms[other].able and b in sharing.rooms[one].able:
                        yield {
                            one: _with(_without(mine, a), b),
                            other: _with(_without(theirs, b), a),
                        }


def _with(jobs: tuple[int, ...], job: int) -> tuple[int, ...]:
    return tuple(sorted((*jobs, job)))


def _without(jobs: tuple[int, ...], job: int) -> tuple[int, ...]:
    return tuple(j for j in jobs if j != job)


def _total(costs: Sequence[Cost]) -> tuple[int, float, float]:
    """Return what sharings are compared by; ends count by their squares, so that heads level."""
    return (
        sum(cost.n_late for cost in costs),
        round(sum(cost.late_min for cost in costs), 6),
        round(sum(cost.end_min**2 for cost in costs), 6),
    )
