"""The day plan of 60 jobs on 4 heads: seconds, late jobs beside their bound, cone changes.

    python -m benchmarks.day

Queues are drawn at random from fixed seeds; aim: each at most 2 seconds.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from firstpiece.model.day import Cone, Head, SewingJob
from firstpiece.scheduling.stage import plan_day

N_JOBS, N_HEADS, N_QUEUES = 60, 4, 10
MOST_SECONDS = 2.0
COLORS = [f"color {i:02d}" for i in range(44)]


def draw_jobs(seed: int, n_jobs: int = N_JOBS) -> list[SewingJob]:
    """Return a queue whose heads are busy about as long as the due dates allow."""
    rng = np.random.default_rng(seed)
    jobs = []
    for i in range(n_jobs):
        colors = rng.choice(len(COLORS), size=int(rng.integers(1, 8)), replace=False)
        size = int(rng.choice([65, 75, 75, 75, 80]))
        cones = tuple(Cone("poly-40", COLORS[c], size, "ball") for c in sorted(colors))
        late_ready = rng.random() < 0.15
        jobs.append(
            SewingJob(
                job=i + 1,
                title=f"job {i + 1}",
                pieces=int(rng.integers(1, 13)),
                minutes_each=float(rng.uniform(4, 24)),
                due_min=float(rng.integers(1, 5) * 480),
                cones=cones,
                ready_min=float(rng.integers(1, 4) * 480) if late_ready else 0.0,
            )
        )
    return jobs


def main() -> int:
    """Print one row a queue; return 1 when one took too long."""
    heads = [Head(f"head-{i + 1}", f"Head {i + 1}", needles=12) for i in range(N_HEADS)]
    plan_day(draw_jobs(999, 8), heads)  # the kernels are compiled or loaded here
    print(f"{N_JOBS} jobs, {N_HEADS} heads")
    print(f"{'queue':>5} {'seconds':>8} {'late':>5} {'bound':>6} {'changes':>8} {'bound':>6}")
    worst = 0.0
    for seed in range(N_QUEUES):
        jobs = draw_jobs(seed)
        begin = time.perf_counter()
        plan = plan_day(jobs, heads)
        seconds = time.perf_counter() - begin
        worst = max(worst, seconds)
        print(f"{seed:>5} {seconds:>8.2f} {len(plan.late):>5} {plan.late_bound:>6} "
              f"{plan.n_changes:>8} {plan.changes_bound:>6}")  # fmt: skip
        assert plan == plan_day([replace(job) for job in reversed(jobs)], heads)
    print(f"slowest {worst:.2f} s (aim {MOST_SECONDS:.0f} s)")
    return int(worst > MOST_SECONDS)


if __name__ == "__main__":
    sys.exit(main())
