"""One head, jobs with minutes and due times: which can be on time, and which will be late.

Times are minutes from the start of the day; the caller turns dates into minutes.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class DueOrder:
    """Positions of the jobs as given: those on time in sewing order, then those that are late."""

    on_time: tuple[int, ...]
    late: tuple[int, ...]


def fewest_late(minutes: Sequence[float], due: Sequence[float]) -> DueOrder:
    """Return an order of one head's jobs that makes as few as possible late.

    Parameters
    ----------
    minutes : sequence of float [min]
        Time of each job, set-up included.
    due : sequence of float [min]
        When each must be done.

    Notes
    -----
    Take jobs by due time; whenever one ends late, put off the longest taken so far.

    References
    ----------
    J. M. Moore, "An n job, one machine sequencing algorithm for minimizing the number of late
    jobs", Management Science 15 (1968) 102–109 (from memory).
    """
    taken: list[tuple[float, int]] = []
    late: list[int] = []
    clock = 0.0
    for job in sorted(range(len(minutes)), key=lambda i: (due[i], i)):
        heapq.heappush(taken, (-minutes[job], job))
        clock += minutes[job]
        if clock > due[job]:
            longest, put_off = heapq.heappop(taken)
            clock += longest
            late.append(put_off)
    kept = sorted((job for _, job in taken), key=lambda i: (due[i], i))
    return DueOrder(tuple(kept), tuple(sorted(late, key=lambda i: (due[i], i))))


def latest_lateness(minutes: Sequence[float], due: Sequence[float], order: Sequence[int]) -> float:
    """Return by how many minutes the worst job of this order misses its due time (negative: none).

    Sewing by due time makes this as small as it can be (Jackson's rule, from memory).
    """
    clock, worst = 0.0, float("-inf")
    for job in order:
        clock += minutes[job]
        worst = max(worst, clock - due[job])
    return worst
