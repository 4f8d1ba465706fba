"""The slow obvious twin of the closing law: every stitch formed and locked, one after the other.

A sheet clamped at its rim. Forming a stitch pulls its two holes together with the thread's tension,
each pull spread over a small disc; then its thread can no longer get longer, but it can go slack.
The needle comes down at places fixed in the frame, so closing counts from the moment it did.
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from firstpiece.kernels.membrane import stiffness_rows


def square_grid(n, h):
    """Nodes and elements of a square of n by n elements centred on the origin."""
    x = (np.arange(n + 1) - n / 2) * h
    nodes = np.stack(np.meshgrid(x, x), axis=-1).reshape(-1, 2)
    row, col = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
    first = (row * (n + 1) + col).ravel()
    return nodes, np.column_stack([first, first + 1, first + n + 2, first + n + 1])


def plane_stress(stiffness, nu=0.3):
    """Moduli of an isotropic sheet, stiffness in N/mm."""
    shear = (1 - nu) / 2
    return stiffness / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, shear]])


@dataclass
class Sheet:
    """A clamped square sheet that can be asked how places move under pulls at places."""

    n: int
    h: float
    moduli: np.ndarray

    def __post_init__(self):
        self.nodes, quads = square_grid(self.n, self.h)
        edge = np.abs(self.nodes).max(axis=1) > (self.n / 2 - 0.5) * self.h
        free = np.where(np.repeat(edge, 2), -1, 0)
        free[free >= 0] = np.arange(np.count_nonzero(free >= 0))
        self.free = free
        moduli = np.broadcast_to(self.moduli, (len(quads), 3, 3)).copy()
        data, columns, start = stiffness_rows(self.nodes, quads, moduli, free)
        self.lu = splu(
            sp.csc_matrix((data, columns, start)),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )

    def spread(self, point, radius):
        """Weights of a unit load over a disc on the grid's nodes: (node, weight) arrays."""
        golden = math.pi * (3 - math.sqrt(5))
        k = np.arange(60)
        r, a = radius * np.sqrt((k + 0.5) / 60), golden * k
        at = (np.array(point) + np.column_stack([r * np.cos(a), r * np.sin(a)])) / self.h
        at += self.n / 2
        cell = np.floor(at).astype(int)
        s, t = (at - cell).T
        nodes, weights = [], []
        for i, j, w in ((0, 0, (1 - s) * (1 - t)), (0, 1, s * (1 - t)), (1, 0, (1 - s) * t),
                        (1, 1, s * t)):  # fmt: skip
            nodes.append((cell[:, 1] + i) * (self.n + 1) + cell[:, 0] + j)
            weights.append(w / 60)
        total = np.bincount(np.concatenate(nodes), np.concatenate(weights), len(self.nodes))
        used = np.flatnonzero(total)
        return used, total[used]

    def compliance(self, stitches, radius):
        """(k, k): how far each stitch's holes close under a unit tension of each stitch."""
        shape = np.zeros((len(stitches), len(self.nodes) * 2))
        for row, (start, end) in enumerate(stitches):
            along = (np.array(end) - start) / np.hypot(*(np.array(end) - start))
            for point, sign in ((start, 1.0), (end, -1.0)):
                used, weight = self.spread(point, radius)
                shape[row, 2 * used] += sign * weight * along[0]
                shape[row, 2 * used + 1] += sign * weight * along[1]
        loads = shape[:, self.free >= 0]
        moved = np.array([self.lu.solve(load) for load in loads])
        return loads @ moved.T


def sew(compliance, tension, *, slack=True, slip=0.0, stretch=None):
    """Return how far each stitch has closed at the end, since its needle came down.

    ``slip`` is the share of the tension that reaches the stitch before when one is drawn tight, and
    its square the one before that, and so on: thread drawn through the holes instead of locked.
    ``stretch`` [mm/N] is how far each locked thread gives; it takes up its stretch as cloth closes.
    """
    n = len(compliance)
    pull = np.zeros(n)
    placed, locked = np.zeros(n), np.zeros(n)
    stretch = np.zeros(n) if stretch is None else stretch
    for k in range(n):
        placed[k] = compliance[k] @ pull
        pull[k] = tension
        drawn = [j for j in range(k) if tension * slip ** (k - j) > 0.02 * tension]
        for j in drawn:
            pull[j] = max(pull[j], tension * slip ** (k - j))
        held = [j for j in range(k) if j not in drawn]
        pull = _settle(compliance, pull, locked, stretch, held, slack)
        for j in [*drawn, k]:
            locked[j] = compliance[j] @ pull + stretch[j] * pull[j]
    pull = _settle(compliance, pull, locked, stretch, list(range(n)), slack)
    return compliance @ pull - placed, pull


def _settle(compliance, pull, locked, stretch, held, slack):
    """Tensions of the locked stitches so that none is longer than when it was locked."""
    pull = pull.copy()
    for _ in range(4000):
        worst = 0.0
        for j in held:
            short = locked[j] - (compliance[j] @ pull + stretch[j] * pull[j])
            new = pull[j] + short / (compliance[j, j] + stretch[j])
            new = max(0.0, new) if slack else new
            worst = max(worst, abs(new - pull[j]) * compliance[j, j])
            pull[j] = new
        if worst < 1e-7:
            break
    return pull
