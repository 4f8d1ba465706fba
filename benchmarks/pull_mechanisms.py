"""Print which mechanism makes closer stitching draw a column in further, as practice says it does.

``python -m benchmarks.pull_mechanisms`` sews columns of four spacings stitch by stitch on a fine
sheet, with one mechanism at a time beside the plain model: thread that stretches and recovers,
cloth that buckles where it is pressed together, cloth that stiffens as it stretches, thread drawn
through the holes, and the thread's own volume pushing cloth aside. Minutes; nothing was sewn.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, field

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from firstpiece.forecasting.cloth_sheet import orthotropic
from firstpiece.kernels.membrane import centre_strains, free_strain_forces, stiffness_rows

SIDE, CELL, HOLE_MM = 56, 0.5, 0.35
COLUMN_MM, LENGTH_MM = 4.0, 9.0
SPACINGS = (1.0, 0.6, 0.4, 0.3)
ROUNDS = 6


@dataclass(frozen=True)
class Mechanism:
    """What is switched on beside the plain model.

    ``thread_n`` [N] is the thread's stretch stiffness, infinite for thread that locks at once;
    ``buckled`` the share of its stiffness that cloth keeps where it is pressed together;
    ``stiffening`` how much stiffer cloth is at a stretch of ``stiff_at``; ``slip`` the share of the
    tension drawn through to the stitch before; ``pushed_mm2`` the area that the thread of one
    penetration takes; ``taut`` the hoop's strain.
    """

    name: str
    thread_n: float = 1e6
    buckled: float = 1.0
    stiffening: float = 1.0
    stiff_at: float = 0.1
    slip: float = 0.0
    pushed_mm2: float = 0.0
    taut: float = 0.005
    tension_n: float = 0.5


PLAIN = Mechanism("every stitch locks at once")
TRIED = (
    PLAIN,
    Mechanism("thread stretches and recovers, 80 N", thread_n=80.0),
    Mechanism("the same, 20 N", thread_n=20.0),
    Mechanism("the same, 5 N", thread_n=5.0),
    Mechanism("cloth buckles, keeps a quarter", buckled=0.25),
    Mechanism("cloth buckles, keeps a tenth", buckled=0.1),
    Mechanism("cloth stiffens 10 times to 10 %", stiffening=10.0),
    Mechanism("thread of a hole takes 0.06 mm²", pushed_mm2=0.06),
    Mechanism("three tenths drawn through", slip=0.3),
    Mechanism("the same, thread 80 N", slip=0.3, thread_n=80.0),
    Mechanism("the same, thread 20 N", slip=0.3, thread_n=20.0),
    Mechanism("buckles to a tenth, thread 20 N", buckled=0.1, thread_n=20.0),
    Mechanism("buckles, 20 N, three tenths through", buckled=0.1, thread_n=20.0, slip=0.3),
)


@dataclass
class Bench:
    """The sheet under the needle: 28 mm square, clamped, its threads and where they stand."""

    how: Mechanism
    moduli: np.ndarray = field(default_factory=lambda: orthotropic(5.0, 5.0, 5.0 / 2.6, 0.3))

    def __post_init__(self) -> None:
        x = (np.arange(SIDE + 1) - SIDE / 2) * CELL
        self.nodes = np.stack(np.meshgrid(x, x), axis=-1).reshape(-1, 2)
        row, col = np.meshgrid(np.arange(SIDE), np.arange(SIDE), indexing="ij")
        first = (row * (SIDE + 1) + col).ravel()
        self.quads = np.column_stack([first, first + 1, first + SIDE + 2, first + SIDE + 1])
        rim = np.abs(self.nodes).max(axis=1) > (SIDE / 2 - 0.5) * CELL
        free = np.where(np.repeat(rim, 2), -1, 0)
        free[free >= 0] = np.arange(np.count_nonzero(free >= 0))
        self.free = free
        self.moved = np.zeros(2 * len(self.nodes))
        self.pushed = np.zeros((len(self.quads), 3))
        self.factor()

    def factor(self) -> None:
        """Factor the sheet as stiff as its present strain makes it."""
        moduli = np.ascontiguousarray(self.present_moduli())
        data, columns, start = stiffness_rows(self.nodes, self.quads, moduli, self.free)
        self.lu = splu(
            sp.csc_matrix((data, columns, start)),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        self.now = moduli

    @property
    def is_linear(self) -> bool:
        """Whether the sheet is as stiff as before whatever its strain."""
        return self.how.buckled == 1.0 and self.how.stiffening == 1.0

    def present_moduli(self) -> np.ndarray:
        """(m, 3, 3) secant moduli in the principal directions of the present strain."""
        if self.is_linear:
            return np.broadcast_to(self.moduli, (len(self.quads), 3, 3))
        strain = centre_strains(self.nodes, self.quads, self.moved)
        ex, ey = strain[:, 0] + self.how.taut, strain[:, 1] + self.how.taut
        mean, half = (ex + ey) / 2, np.hypot((ex - ey) / 2, strain[:, 2] / 2)
        turn = 0.5 * np.arctan2(strain[:, 2], ex - ey)
        keep = [self.share(mean + half), self.share(mean - half)]
        return _turned(5.0 * keep[0], 5.0 * keep[1], turn)

    def share(self, strain: np.ndarray) -> np.ndarray:
        """How much of its plain stiffness the cloth has along a principal strain."""
        how = self.how
        more = 1.0 + (how.stiffening - 1.0) * np.clip(strain / how.stiff_at, 0.0, 1.0)
        # Between taut and pressed the share goes over within a tenth of a percent.
        slack = np.clip(0.5 - strain / 0.001, 0.0, 1.0)
        return (1.0 - slack) * more + slack * how.buckled

    def spread(self, point: np.ndarray) -> np.ndarray:
        """(n,) weights of a unit load over a hole's disc."""
        golden = math.pi * (3 - math.sqrt(5))
        k = np.arange(60)
        r, a = HOLE_MM * np.sqrt((k + 0.5) / 60), golden * k
        at = (point + np.column_stack([r * np.cos(a), r * np.sin(a)])) / CELL + SIDE / 2
        cell = np.floor(at).astype(int)
        s, t = (at - cell).T
        total = np.zeros(len(self.nodes))
        for i, j, w in (
            (0, 0, (1 - s) * (1 - t)), (0, 1, s * (1 - t)), (1, 0, (1 - s) * t), (1, 1, s * t),
        ):  # fmt: skip
            np.add.at(total, (cell[:, 1] + i) * (SIDE + 1) + cell[:, 0] + j, w / 60)
        return total

    def pull_shape(self, start: np.ndarray, end: np.ndarray) -> np.ndarray:
        """(2n,) nodal loads of a unit tension between two holes; also reads their closing."""
        along = (end - start) / np.hypot(*(end - start))
        weights = self.spread(start) - self.spread(end)
        return (weights[:, None] * along).ravel()

    def push(self, point: np.ndarray) -> None:
        """Let the thread in a hole take its room: a free strain of the cloth round it."""
        if self.how.pushed_mm2:
            centres = self.nodes[self.quads].mean(axis=1)
            away = np.hypot(*(centres - point).T)
            near = np.exp(-((away / HOLE_MM) ** 2))
            share = self.how.pushed_mm2 * near / near.sum() / CELL**2 / 2
            self.pushed[:, 0] += share
            self.pushed[:, 1] += share

    def settle(self, shapes: np.ndarray, tension: np.ndarray, locked: np.ndarray,
               held: np.ndarray, flexible: np.ndarray) -> np.ndarray:  # fmt: skip
        """Solve sheet and threads together; returns the tensions, moves the sheet."""
        is_free = self.free >= 0
        for _round in range(1 if self.is_linear else ROUNDS):
            if not self.is_linear:
                self.factor()
            force = np.einsum("mij,mj->mi", self.now, self.pushed)
            load = free_strain_forces(self.nodes, self.quads, force[None])[0]
            base = self.lu.solve(np.ascontiguousarray(load[is_free]))
            answers = np.array([self.lu.solve(s) for s in shapes[:, is_free]])
            compliance = shapes[:, is_free] @ answers.T
            tension = _tensions(compliance, shapes[:, is_free] @ base, tension, locked, held,
                                flexible)  # fmt: skip
            moved = np.zeros_like(self.moved)
            moved[is_free] = base + tension @ answers
            # Half steps keep the buckling from swinging to and fro.
            self.moved = moved if self.is_linear else 0.5 * (self.moved + moved)
        self.moved = moved
        return tension


def _turned(first: np.ndarray, second: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """(m, 3, 3) orthotropic moduli with their first axis turned from x."""
    mixed = 0.3 * np.sqrt(first * second)
    plane = np.zeros((len(turn), 3, 3))
    plane[:, 0, 0], plane[:, 1, 1] = first / 0.91, second / 0.91
    plane[:, 0, 1] = plane[:, 1, 0] = mixed / 0.91
    plane[:, 2, 2] = np.sqrt(first * second) / 2.6
    c, s = np.cos(turn), np.sin(turn)
    move = np.stack([
        np.stack([c * c, s * s, c * s], -1), np.stack([s * s, c * c, -c * s], -1),
        np.stack([-2 * c * s, 2 * c * s, c * c - s * s], -1),
    ], axis=1)  # fmt: skip
    return np.einsum("mki,mkl,mlj->mij", move, plane, move)


def _tensions(
    compliance: np.ndarray, base: np.ndarray, tension: np.ndarray, locked: np.ndarray,
    held: np.ndarray, flexible: np.ndarray,
) -> np.ndarray:  # fmt: skip
    """Tensions of locked threads: none is pushed, none is longer than when it was locked."""
    tension = tension.copy()
    for _ in range(4000):
        worst = 0.0
        for j in held:
            # Locked: closing + flexible · (T − t) stays what it was.
            short = locked[j] - (base[j] + compliance[j] @ tension + flexible[j] * tension[j])
            new = max(0.0, tension[j] + short / (compliance[j, j] + flexible[j]))
            worst = max(worst, abs(new - tension[j]) * compliance[j, j])
            tension[j] = new
        if worst < 1e-6:
            break
    return tension


def sew_column(how: Mechanism, spacing: float) -> tuple[float, float]:
    """Sew a zigzag; return how far its middle narrows and how much longer it gets [mm]."""
    bench = Bench(how)
    n = 2 * round(LENGTH_MM / spacing)
    y = (np.arange(n + 1) - n / 2) * spacing / 2
    points = np.column_stack([np.where(np.arange(n + 1) % 2, 0.5, -0.5) * COLUMN_MM, y])
    shapes, placed, locked = np.zeros((0, 2 * len(bench.nodes))), [], []
    tension = np.zeros(0)
    at_needle = []
    bench.push(points[0])
    at_needle.append(_moved_at(bench, points[0]))
    for k in range(n):
        shape = bench.pull_shape(points[k], points[k + 1])
        placed.append(shape @ bench.moved)
        at_needle.append(_moved_at(bench, points[k + 1]))
        bench.push(points[k + 1])
        shapes = np.vstack([shapes, shape])
        tension = np.append(tension, how.tension_n)
        drawn = [k]
        for j in range(k - 1, -1, -1):
            through = how.tension_n * how.slip ** (k - j) if how.slip else 0.0
            if through <= 0.02 * how.tension_n:
                break
            tension[j] = max(tension[j], through)
            drawn.append(j)
        flexible = np.full(k + 1, COLUMN_MM / how.thread_n)
        held = np.array([j for j in range(k + 1) if j not in drawn], dtype=int)
        aims = np.append(np.array(locked), 0.0)
        tension = bench.settle(shapes, tension, aims, held, flexible)
        closing = shapes @ bench.moved + flexible * tension
        locked = [*aims[:k], closing[k]]
        for j in drawn:
            locked[j] = closing[j]
    everything = np.arange(n)
    bench.settle(
        shapes, tension, np.array(locked), everything, np.full(n, COLUMN_MM / how.thread_n)
    )
    closed = shapes @ bench.moved - np.array(placed)
    middle = slice(n // 4, n - n // 4)
    final = [_moved_at(bench, p) for p in points]
    longer = (final[-1] - at_needle[-1])[1] - (final[0] - at_needle[0])[1]
    return float(closed[middle].mean()), float(longer)


def _moved_at(bench: Bench, point: np.ndarray) -> np.ndarray:
    return bench.spread(point) @ bench.moved.reshape(-1, 2)


def main() -> int:
    chosen = [m for m in TRIED if not sys.argv[1:] or any(w in m.name for w in sys.argv[1:])]
    print(f"{'narrowing of a 4 mm column, mm':42}" + "".join(f"{s:>8.1f}" for s in SPACINGS)
          + "   longer at 0.4")  # fmt: skip
    for how in chosen:
        found = [sew_column(how, s) for s in SPACINGS]
        print(f"{how.name:42}" + "".join(f"{c:8.3f}" for c, _ in found)
              + f"{found[2][1]:12.3f}", flush=True)  # fmt: skip
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
