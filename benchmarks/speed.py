"""Print how long each stage takes and how much memory, as ratios that travel between machines.

``python -m benchmarks.speed [--only TEXT]`` runs a few drawings of the sample at two heights, first
once to warm up, then measured. Ratios: time for a thousand stitches, growth with height, share of a
stage. The bounds are aims for a two-core machine; a bound that is passed is printed, not hidden.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import statistics
import subprocess
import sys
import time

from benchmarks.chain import Sewn, judge, run_chain
from benchmarks.quality import RESULTS
from benchmarks.sample import Design, read_sample

DESIGNS = ("animals-06", "food-06", "plants-01", "tools-02", "expired", "recreation-05")
HEIGHTS_MM = (80.0, 160.0)
STAGES = ("read", "trace", "plan", "write", "forecast", "ask")
REPEATS = 3
BOUNDS = {
    "seconds at 80 mm, worst": 10.0,
    "plan ms per 1000 stitches, median": 150.0,
    "growth power of time with height, worst": 2.5,
    "peak memory MB": 1500.0,
    "seconds of firstpiece --help": 0.12,
}


def measure_once(design: Design, form: str, height_mm: float) -> Sewn:
    data, name = design.picture(form)
    sewn = run_chain(data, name=name, height_mm=height_mm)
    judge(sewn)
    return sewn


def measure(design: Design, form: str, height_mm: float) -> tuple[dict[str, float], int]:
    """Return the median seconds of each stage and the stitches."""
    runs = [measure_once(design, form, height_mm) for _ in range(REPEATS)]
    seconds = {s: statistics.median(run.seconds[s] for run in runs) for s in STAGES}
    return seconds, runs[0].plan.n_stitches


def help_seconds() -> float:
    """Return the processor time of ``firstpiece --help``, the best of five."""

    def once() -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [sys.executable, "-m", "firstpiece", "--help"], check=True, stdout=subprocess.DEVNULL
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    return min(once() for _ in range(5))


def peak_memory_mb() -> float:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", default="", help="designs whose name holds this text")
    asked = parser.parse_args()
    designs = [d for d in read_sample(asked.only) if d.name in DESIGNS]
    begin = time.perf_counter()
    measure_once(designs[0], "svg", 60.0)
    print(f"first run, compiling included: {time.perf_counter() - begin:.1f} s\n")
    print(
        f"{'design':16}{'form':>5}{'mm':>5}{'stitches':>9}", *(f"{s:>8}" for s in STAGES), "   all"
    )
    totals: dict[tuple[str, str, float], float] = {}
    per_thousand = []
    for design in designs:
        for form in ("svg", "jpeg"):
            for height in HEIGHTS_MM:
                seconds, n_stitches = measure(design, form, height)
                total = sum(seconds.values())
                totals[design.name, form, height] = total
                per_thousand.append(1e6 * seconds["plan"] / n_stitches)
                cells = " ".join(f"{seconds[s]:8.2f}" for s in STAGES)
                head = f"{design.name:16}{form:>5}{height:5.0f}{n_stitches:9}"
                print(head, cells, f"{total:6.2f}", flush=True)
    growth = [
        math.log(totals[d.name, f, HEIGHTS_MM[1]] / totals[d.name, f, HEIGHTS_MM[0]])
        / math.log(HEIGHTS_MM[1] / HEIGHTS_MM[0])
        for d in designs
        for f in ("svg", "jpeg")
    ]
    found = {
        "seconds at 80 mm, worst": max(v for (*_, h), v in totals.items() if h == HEIGHTS_MM[0]),
        "plan ms per 1000 stitches, median": statistics.median(per_thousand),
        "growth power of time with height, worst": max(growth),
        "peak memory MB": peak_memory_mb(),
        "seconds of firstpiece --help": help_seconds(),
    }
    print()
    for name, value in found.items():
        verdict = "within" if value <= BOUNDS[name] else "OVER"
        print(f"{name:42}{value:9.2f}   {verdict} {BOUNDS[name]:g}")
    RESULTS.mkdir(parents=True, exist_ok=True)
    (RESULTS / "speed.json").write_text(json.dumps(found, indent=1), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
