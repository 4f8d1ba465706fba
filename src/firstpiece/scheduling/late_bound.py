"""How many jobs must be late whatever the plan: a bound that a plan can be held against.

Input: jobs and heads. Output: a count. The heads are taken together as one that works as fast as
all of them and may share a job; what is late there is late on real heads too.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from firstpiece.scheduling.due_dates import fewest_late

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.day import Head, SewingJob


def bound_late(jobs: Sequence[SewingJob], heads: Sequence[Head]) -> int:
    """Return a number of late jobs that no plan of these jobs on these heads can stay under.

    Notes
    -----
    A job whose shortest time, begun when it is ready, already ends too late is late in any plan.
    For the others: the jobs that are on time and due by d were done by m heads within m·d minutes,
    whatever they were ready at, so the fewest late jobs of one head with due times m·d (Moore and
    Hodgson) are a lower bound.
    """
    surely_late, minutes, due = 0, [], []
    for job in jobs:
        able = [job.minutes_on(head) for head in heads if job.fits(head)]
        if not able or not math.isfinite(job.ready_min):
            continue
        shortest = min(able)
        if job.ready_min + shortest > job.due_min:
            surely_late += 1
        else:
            minutes.append(shortest)
            due.append(job.due_min * len(heads))
    return surely_late + len(fewest_late(minutes, due).late)
