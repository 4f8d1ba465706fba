"""Print what a forecast costs in seconds and memory, by stitches and hoop, and the membrane alone.

``python -m benchmarks.forecast`` forecasts square blocks of fill at several sizes, first in a fresh
process (cold: imports and cached compiled code included), then again with one area edited and the
memo of the first, and solves the same sheet with scikit-fem. A plot goes into
``benchmarks/results/forecast.png``. Times are of this process alone (user and system), with wall
time beside them.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import shapely

from benchmarks.line_plot import Line, Panel, save_plot
from firstpiece.files.material_card import CardDrawer
from firstpiece.model.hooping import needle_places, smallest_hoop
from firstpiece.model.material import ThreadColor
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchPlan, StitchType, Treatment

RESULTS = Path(__file__).parent / "results"
THREADS = tuple(
    ThreadColor(name, rgb, 26.7)
    for name, rgb in (
        ("chalk white", (247, 246, 241)),
        ("leaf", (47, 115, 53)),
        ("navy", (30, 40, 90)),
    )
)
# Name, blocks along a side, side of a block [mm], stitch length [mm], row spacing [mm].
SIZES = (
    ("60 mm", 1, 60.0, 3.3, 0.38),
    ("120 mm", 2, 57.0, 3.3, 0.38),
    ("200 mm", 3, 64.0, 3.3, 0.38),
    ("300 mm", 5, 57.0, 3.3, 0.38),
    ("300 mm, 500,000 stitches", 5, 57.0, 0.43, 0.38),
)
BOUNDS = {"cold": 5.0, "edited": 1.5, "cold 500,000": 25.0, "memory MB": 1024.0, "times": 8.0}


def rows(side: float, spacing: float, step: float, x: float, y: float) -> np.ndarray:
    heights = np.arange(spacing / 2, side, spacing) - side / 2
    along = np.linspace(-side / 2, side / 2, max(2, int(np.ceil(side / step)) + 1))
    lines = [np.column_stack([along if i % 2 == 0 else along[::-1], np.full(len(along), h)])
             for i, h in enumerate(heights)]  # fmt: skip
    return np.concatenate(lines) + np.array([x, y])


def blocks(n: int, side: float, step: float, spacing: float, *, edited: bool = False):
    """A design of n by n filled squares in three colours and its map."""
    parts, regions, treatments = [], [], []
    pitch = side + 3.0
    for k in range(n * n):
        x, y = ((v - (n - 1) / 2) * pitch for v in (k % n, k // n))
        own = spacing * 1.1 if edited and k == n * n // 2 else spacing
        points = rows(side, own, step, x, y)
        table = np.zeros((len(points) + 2, 5))
        table[1:-1, :2], table[0, :2], table[-1, :2] = points, points[0], points[-1]
        table[:, 2] = Action.STITCH
        table[0, 2], table[-1, 2] = Action.JUMP, Action.TRIM
        table[:, 3], table[:, 4] = k % 3, k
        parts.append(table)
        regions.append(
            Region(k, shapely.box(x - side / 2, y - side / 2, x + side / 2, y + side / 2), k % 3)
        )
        treatments.append(
            Treatment(k, StitchType.FILL, 0.0, own, step, (), 0.2, k % 3, k, len(points), "")
        )
    table = np.concatenate(parts)
    table[-1, 2] = Action.END
    plan = StitchPlan(
        table[:, :2], table[:, 2].astype(np.uint8), table[:, 3].astype(np.int16),
        table[:, 4].astype(np.int32), np.full(len(table), Role.COVER, np.uint8), THREADS,
        tuple(treatments),
    )  # fmt: skip
    x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in regions])
    matches = tuple(ColorMatch(t.rgb, t, 0.0) for t in THREADS)
    return plan, RegionMap(tuple(regions), matches, x1 - x0, y1 - y0)


def measure(index: int) -> dict[str, float]:
    """Run one size in this process, which has done nothing else yet."""
    _name, n, side, step, spacing = SIZES[index]
    setup = CardDrawer().setup("apron-natural")
    plan, areas = blocks(n, side, step, spacing)
    again, _ = blocks(n, side, step, spacing, edited=True)
    hoop = smallest_hoop(needle_places(plan), setup.hoops)
    area = hoop.width_mm * hoop.height_mm / 100.0 if hoop else 0.0
    found: dict[str, float] = {"stitches": plan.n_stitches, "hoop": area}
    memo = None
    for word, one in (("cold", plan), ("edited", again)):
        wall, own = time.perf_counter(), time.process_time()
        from firstpiece.forecasting.stage import forecast_sewout
        from firstpiece.model.memo import Memo

        memo = memo or Memo()
        forecast_sewout(one, region_map=areas, setup=setup, memo=memo)
        found[word] = time.perf_counter() - wall
        found[f"{word} cpu"] = time.process_time() - own
    found["memory MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def measure_settling(index: int) -> float:
    from firstpiece.forecasting.laid_thread import lay_thread
    from firstpiece.forecasting.settle import settle_cloth

    _name, n, side, step, spacing = SIZES[index]
    plan, _ = blocks(n, side, step, spacing)
    setup = CardDrawer().setup("apron-natural")
    settle_cloth(plan, setup, lay_thread(plan))
    begin = time.process_time()
    settle_cloth(plan, setup, lay_thread(plan))
    return time.process_time() - begin


def compare_with_scikit_fem(n: int = 150) -> tuple[float, float, float]:
    """Set-up and assembly of n by n elements: seconds of both, difference of the energies."""
    import scipy.sparse as sp
    import skfem
    from skfem.helpers import sym_grad

    from firstpiece.kernels.membrane import stiffness_rows

    x = np.linspace(0.0, 300.0, n + 1)
    roots = np.random.default_rng(1).normal(size=(n * n, 3, 3))
    moduli = roots @ roots.transpose(0, 2, 1) + np.eye(3)

    def ours():
        nodes = np.stack(np.meshgrid(x, x), axis=-1).reshape(-1, 2)
        row, col = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
        first = (row * (n + 1) + col).ravel()
        quads = np.column_stack([first, first + 1, first + n + 2, first + n + 1])
        free = np.arange(2 * len(nodes))
        return nodes, quads, sp.csr_matrix(stiffness_rows(nodes, quads, moduli, free))

    nodes, quads, _ = ours()

    def theirs():
        mesh = skfem.MeshQuad(nodes.T.copy(), quads.T.copy())
        basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad1()), intorder=2)

        @skfem.BilinearForm
        def form(u, v, _w):
            own, other = sym_grad(u), sym_grad(v)
            a = (own[0, 0], own[1, 1], 2 * own[0, 1])
            b = (other[0, 0], other[1, 1], 2 * other[0, 1])
            return sum(moduli[:, i, j][:, None] * b[i] * a[j] for i in range(3) for j in range(3))

        return basis, form.assemble(basis)

    times = []
    for work in (ours, theirs):
        work()
        begin = time.process_time()
        result = work()
        times.append(time.process_time() - begin)
        if work is ours:
            matrix = result[2]
        else:
            basis, other = result
    field = np.random.default_rng(2).normal(size=matrix.shape[0])
    moved = np.zeros_like(field)
    moved[basis.nodal_dofs.T.ravel()] = field
    return times[0], times[1], abs(1 - (moved @ other @ moved) / (field @ matrix @ field))


def plot(found: list[dict[str, float]], path: Path) -> None:
    """Seconds of processor time against stitches, and of settling against hoop area, as PNG."""
    stitches = [f["stitches"] / 1000 for f in found]
    plain = found[:-1]
    save_plot(
        [
            Panel("cost against stitches", "thousand stitches", "s",
                  (Line("cold", stitches, [f["cold cpu"] for f in found]),
                   Line("after an edit", stitches, [f["edited cpu"] for f in found]))),
            Panel("cost against the hoop", "cm² inside the hoop", "s",
                  (Line("after an edit", [f["hoop"] for f in plain],
                        [f["edited cpu"] for f in plain]),
                   Line("settling alone", [f["hoop"] for f in plain],
                        [f["settling"] for f in plain]))),
            Panel("memory against stitches", "thousand stitches", "MB",
                  (Line("most held", stitches, [f["memory MB"] for f in found]),)),
        ],
        path,
    )  # fmt: skip


def main() -> int:
    found = []
    print(
        f"{'design':26}{'stitches':>9}{'cold':>8}{'cpu':>8}{'edited':>8}{'cpu':>8}{'MB':>7}{'settling':>10}"
    )
    for index, size in enumerate(SIZES):
        answer = subprocess.run(
            [sys.executable, "-m", "benchmarks.forecast", str(index)],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        f = json.loads(answer.stdout)
        found.append(f)
        settling = f["settling"] = measure_settling(index)
        print(f"{size[0]:26}{f['stitches']:9,.0f}{f['cold']:8.2f}{f['cold cpu']:8.2f}"
              f"{f['edited']:8.2f}{f['edited cpu']:8.2f}{f['memory MB']:7.0f}"
              f"{settling:10.2f}")  # fmt: skip
    own, other, energy = compare_with_scikit_fem()
    print(f"\nset-up and assembly, 150 × 150 elements: {own:.3f} s, scikit-fem {other:.3f} s: "
          f"{other / own:.1f} times; energies differ by {energy:.0e}")  # fmt: skip
    large, huge = found[3], found[4]
    for word, value, bound in (
        ("66,000 stitches cold, s", large["cold"], BOUNDS["cold"]),
        ("after an edit, s", large["edited"], BOUNDS["edited"]),
        ("memory, MB", large["memory MB"], BOUNDS["memory MB"]),
        ("500,000 stitches, s", huge["cold"], BOUNDS["cold 500,000"]),
    ):
        print(f"{word:28}{value:9.2f}  aim {bound:g}{'' if value <= bound else '  MISSED'}")
    plot(found, RESULTS / "forecast.png")
    return 0


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(json.dumps(measure(int(sys.argv[1]))))
    else:
        raise SystemExit(main())
