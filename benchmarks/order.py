"""Print how good the order is: thread changes, trims, ties, travel, routes and growth.

``python -m benchmarks.order [--part designs|routes|growth]``
Designs are the real input sample; bounds are worked out here, from what lies on what and from
connected pieces of one thread, not taken from the planner's word.
"""

from __future__ import annotations

import argparse
import sys
import time

import numpy as np
import shapely

from benchmarks.chain import CARDS
from benchmarks.figures import Figures, _measure_stitches
from benchmarks.held_karp import held_karp_bound
from benchmarks.sample import read_sample
from benchmarks.stitch_raster import read_stitch_list
from firstpiece.files.picture import read_artwork
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.kernels.part_route import improve_route, nearest_part_next, route_length
from firstpiece.model.stitch import Action, Role
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.demo_picture import draw_demo_picture
from firstpiece.tracing.stage import trace_artwork

SIZES = ((50, 5_000, 6_000), (200, 20_000, 4_000), (1000, 150_000, 1_200))
CUT_MM = 40.0
UNCUT_MM = 2.0
INCH_MM = 25.4


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--part", choices=("designs", "routes", "growth"))
    parser.add_argument("--every", type=int, default=1)
    asked = parser.parse_args()
    if asked.part in (None, "designs"):
        print_designs(asked.every)
    if asked.part in (None, "routes"):
        print_routes()
    if asked.part in (None, "growth"):
        print_growth(asked.every)
    return 0


def print_designs(every: int) -> None:
    """Thread changes against the proved least, trims against connected pieces, ties, travel."""
    setup = CARDS.setup(CARDS.default_garment)
    rows = []
    print("design                     areas thr chg least  trims pieces ties travel%")
    for name, design in _designs(every):
        plan = plan_stitches(design, setup=setup)
        figures = Figures()
        written = read_stitch_list(write_stitch_csv(plan), write_threads_json(plan))
        _measure_stitches(figures, written)
        rows_sewn = plan.sewn_segments()
        travel = float((plan.role[rows_sewn] == Role.TRAVEL).mean())
        row = (
            len(design.sewn_regions),
            len(plan.threads),
            plan.count(Action.COLOR_CHANGE),
            plan.fewest_changes,
            figures.trims,
            _pieces(design),
            figures.ties_within_1mm,
            100 * travel,
        )
        rows.append(row)
        print(f"{name:26.26} %5d %3d %3d %5d %6d %6d %4d %6.1f" % row, flush=True)
    table = np.array(rows)
    proved, few = table[:, 2] == table[:, 3], table[:, 4] <= 1.15 * table[:, 5]
    print(f"thread changes: mean {table[:, 2].mean():.2f}, the proved least on {proved.mean():.0%}")
    print(f"trims: mean {table[:, 4].mean():.2f}, at most 1.15 x pieces on {few.mean():.0%}")
    print(f"ties: at most two within 1 mm on {(table[:, 6] <= 2).mean():.0%}")
    little = table[:, 7] <= 5
    print(f"travel: mean {table[:, 7].mean():.1f} %, at most 5 % on {little.mean():.0%}")


def _designs(every):
    setup = CARDS.setup(CARDS.default_garment)
    rack = setup.thread.colors
    demo = read_artwork(draw_demo_picture(), name="demo")
    yield "demo", trace_artwork(demo, height_mm=120.0, rack=rack)
    for design in read_sample()[::every]:
        data, name = design.picture("svg")
        artwork = read_artwork(data, name=name)
        yield design.name, trace_artwork(artwork, height_mm=design.height_mm, rack=rack)


def _pieces(design) -> int:
    """Return how many connected pieces of one thread a design has."""
    by_thread: dict[str, list[shapely.Polygon]] = {}
    for region in design.sewn_regions:
        by_thread.setdefault(design.thread_of(region).name, []).append(region.polygon.buffer(0.03))
    return sum(len(shapely.get_parts(shapely.union_all(p))) for p in by_thread.values())


def print_routes() -> None:
    """Rounds over random parts with two ends against the bound of Held & Karp, five seeds."""
    print("\nparts  over the bound %: way alone, cuts counted (worst)   nearest %    seconds")
    for n, kicks, rounds in SIZES:
        gaps: dict[bool, list[float]] = {False: [], True: []}
        nearest, seconds = [], []
        for seed in range(5):
            for counted in (False, True):
                distance = random_parts(n, seed, cut_mm=CUT_MM if counted else 0.0)
                near = neighbours(distance)
                first = nearest_part_next(distance)
                begin = time.perf_counter()
                length = route_length(distance, improve_route(distance, near, first, kicks))
                seconds.append(time.perf_counter() - begin)
                bound = held_karp_bound(distance, length, rounds=rounds)
                gaps[counted].append(100 * (length / bound - 1))
                if not counted:
                    nearest.append(100 * (route_length(distance, first) / bound - 1))
        print(
            f"{n:5}  {np.mean(gaps[False]):.2f} ({max(gaps[False]):.2f})  "
            f"{np.mean(gaps[True]):.2f} ({max(gaps[True]):.2f})   {np.mean(nearest):.0f}    "
            f"{np.mean(seconds):.2f}",
            flush=True,
        )


def random_parts(n: int, seed: int, *, cut_mm: float) -> np.ndarray:
    """Return distances [mm] between the ends of parts 1 to 8 mm long, one to 100 mm2, and home."""
    generator = np.random.default_rng(seed)
    middle = generator.uniform(0, 10 * np.sqrt(n), (n, 2))
    angle, length = generator.uniform(0, 2 * np.pi, n), generator.uniform(1, 8, n)
    half = np.column_stack([np.cos(angle), np.sin(angle)]) * length[:, None] / 2
    ends = np.stack([middle - half, middle + half], axis=1).reshape(-1, 2)
    ends[:2] = 0.0
    distance = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    distance += cut_mm * (distance > UNCUT_MM)
    np.fill_diagonal(distance, 0.0)
    return distance


def neighbours(distance: np.ndarray, k: int = 10) -> np.ndarray:
    """Return the ends nearest to each end, none of its own part."""
    blocked = distance.copy()
    own = np.arange(len(distance))
    blocked[own, own] = blocked[own, own ^ 1] = np.inf
    return np.argsort(blocked, axis=1, kind="stable")[:, :k].copy()


def print_growth(every: int) -> None:
    """Stitches at 5 in and 12 in tall, and the power of height they grow by."""
    setup = CARDS.setup(CARDS.default_garment)
    powers = []
    print("\ndesign                       5 in    12 in  power")
    pictures = [("demo", draw_demo_picture(), "demo.png")]
    for design in read_sample()[:: 2 * every]:
        data, name = design.picture("svg")
        pictures.append((design.name, data, name))
    for name, data, file_name in pictures:
        artwork = read_artwork(data, name=file_name)
        counts = []
        for inches in (5, 12):
            design = trace_artwork(artwork, height_mm=inches * INCH_MM, rack=setup.thread.colors)
            counts.append(plan_stitches(design, setup=setup).n_stitches)
        powers.append(float(np.log(counts[1] / counts[0]) / np.log(12 / 5)))
        print(f"{name:26.26} {counts[0]:7d} {counts[1]:8d} {powers[-1]:6.2f}", flush=True)
    within = np.mean([1 <= p <= 2 for p in powers])
    low, high = min(powers), max(powers)
    print(f"power: mean {np.mean(powers):.2f}, {low:.2f} to {high:.2f}; 1 to 2 on {within:.0%}")


if __name__ == "__main__":
    sys.exit(main())
