"""Stitches that belong together: of one thread and one manner, and touching.

In: a plan whose areas are not known. Out: patches, each with its rows and its pixels on a grid over
the design. Pixels are kept as lists, never as boxes: a thousand long thin slanting patches take no
more room than their thread. Time and memory grow with stitches and painted pixels alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan

PIXEL_MM, MOST_PIXELS = 0.1, 48_000_000
"""Finest pixel, and how many there may be for lines and satin of all threads together."""

MARGIN_MM = 2.0
CLOSING_MM = 0.6
"""Gaps narrower than this between rows belong to the area."""

TURNED_BACK = -0.75
"""Cosine of the turn at which the needle is taken to go back the way it came (139°)."""

SHORTEST_SATIN_MM = 0.6
SATIN_SHARE = 0.55
HIDDEN_SHARE = 0.25
"""Stitches of which less than this is seen from above are underlay."""

FEW_STITCHES = 24
"""Fewer stitches than this are no area of their own when they touch a larger one."""

NEAR_PIXELS = 3
_WINDOW = 9
_AROUND = [(0, 0), (3, 0), (-3, 0), (0, 3), (0, -3), (2, 2), (2, -2), (-2, 2), (-2, -2)]


class PixelGrid:
    """Pixels over the design; row 0 is the lowest, so that no axis is turned."""

    def __init__(self, plan: StitchPlan) -> None:
        points = plan.xy_mm[plan.is_stitch] if plan.n_stitches else np.zeros((1, 2))
        n_layers = 2 * len(np.unique(plan.thread[plan.is_stitch])) or 1
        self.origin = points.min(axis=0) - MARGIN_MM
        size = np.ptp(points, axis=0) + 2 * MARGIN_MM
        coarsest = float(np.sqrt(size[0] * size[1] * n_layers / MOST_PIXELS))
        self.pixel_mm = max(PIXEL_MM, coarsest)
        self.shape = (int(size[1] / self.pixel_mm) + 2, int(size[0] / self.pixel_mm) + 2)

    def pixels(self, xy_mm: NDArray[np.float64]) -> NDArray[np.int32]:
        """Return (…, 2) int32 columns and rows of places."""
        found: NDArray[np.int32] = np.round((xy_mm - self.origin) / self.pixel_mm).astype(np.int32)
        return found

    def flat(self, xy_mm: NDArray[np.float64]) -> NDArray[np.int64]:
        """Return (n,) int64 places on the grid, counted row by row."""
        at = self.pixels(xy_mm).astype(np.int64)
        found: NDArray[np.int64] = at[:, 1] * self.shape[1] + at[:, 0]
        return found

    def around(self, flat: NDArray[np.int64], offsets: list[tuple[int, int]]) -> NDArray[np.int64]:
        """Return (k, n) int64 places moved by each (row, column), held inside the grid."""
        row, column = np.divmod(flat, self.shape[1])
        moved = [
            np.clip(row + dr, 0, self.shape[0] - 1) * self.shape[1]
            + np.clip(column + dc, 0, self.shape[1] - 1)
            for dr, dc in offsets
        ]
        return np.array(moved, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """Stitches of one thread and one manner that touch.

    Parameters
    ----------
    rows : (n,) int64
        Rows of the plan, rising.
    thread : int
    is_satin : bool
    pixels : (m,) int64
        Places on the grid, each once.
    """

    rows: NDArray[np.int64]
    thread: int
    is_satin: bool
    pixels: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class _Layer:
    """One thread in one manner: the number of the patch at each pixel of the grid, -1 for none."""

    owner: NDArray[np.int32]
    is_satin: bool


def find_patches(plan: StitchPlan, grid: PixelGrid, *, thread_mm: float) -> list[Patch]:
    """Return the patches in the order in which their last stitch is sewn.

    Parameters
    ----------
    plan : StitchPlan
    grid : PixelGrid
    thread_mm : float [mm]
        Width of a laid thread.
    """
    satin = satin_rows(plan)
    segments = plan.sewn_segments()
    found: list[Patch] = []
    for thread in np.unique(plan.thread[segments]).tolist():
        patches: list[Patch] = []
        layers = []
        for is_satin in (False, True):
            rows = segments[(plan.thread[segments] == thread) & (satin[segments] == is_satin)]
            if len(rows):
                labels = _touching(plan, rows, grid, thread_mm)
                made, owner = _patches_of(
                    rows, labels, (thread, is_satin, len(patches)), plan, grid
                )
                patches += made
                layers.append(_Layer(owner, is_satin))
        found += _absorb_small(patches, layers, grid)
    return sorted(found, key=lambda p: (int(p.rows[-1]), int(p.rows[0])))


def satin_rows(plan: StitchPlan) -> NDArray[np.bool_]:
    """Return (n,) bool: stitches in whose neighbourhood the needle mostly turns back."""
    n = len(plan.action)
    sewn = np.zeros(n + 1, dtype=bool)
    sewn[plan.sewn_segments()] = True
    step = np.diff(plan.xy_mm, axis=0, prepend=plan.xy_mm[:1])
    length = np.hypot(step[:, 0], step[:, 1])
    unit = step / np.maximum(length, 1e-9)[:, None]
    cosine = np.ones(n)
    cosine[:-1] = np.sum(unit[:-1] * unit[1:], axis=1)
    both = sewn[:n] & sewn[1:]
    long = np.minimum(length, np.append(length[1:], 0.0)) > SHORTEST_SATIN_MM
    turned = (both & long & (cosine < TURNED_BACK)).astype(float)
    kernel = np.ones(_WINDOW)
    share = np.convolve(turned, kernel, "same")[:n] / np.maximum(
        np.convolve(both.astype(float), kernel, "same")[:n], 1.0
    )
    satin: NDArray[np.bool_] = (share >= SATIN_SHARE) & (plan.action == Action.STITCH)
    return satin


def _touching(
    plan: StitchPlan, rows: NDArray[np.int64], grid: PixelGrid, thread_mm: float
) -> NDArray[np.int32]:
    """Return the grid with a number for each heap of touching thread, 0 where there is none."""
    canvas = np.zeros(grid.shape, dtype=np.uint8)
    ends = grid.pixels(np.stack([plan.xy_mm[rows - 1], plan.xy_mm[rows]], axis=1))
    thick = max(1, round(thread_mm / grid.pixel_mm))
    cv2.polylines(canvas, list(ends), isClosed=False, color=1, thickness=thick)
    size = round(CLOSING_MM / grid.pixel_mm) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    canvas = np.asarray(cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, disc), dtype=np.uint8)
    labels: NDArray[np.int32] = cv2.connectedComponents(canvas)[1]
    return labels


def _patches_of(
    rows: NDArray[np.int64],
    labels: NDArray[np.int32],
    kind: tuple[int, bool, int],
    plan: StitchPlan,
    grid: PixelGrid,
) -> tuple[list[Patch], NDArray[np.int32]]:
    """Return a layer's patches, numbered on from ``kind``'s last entry, and who owns each pixel."""
    thread, is_satin, base = kind
    row_groups = _grouped(rows, labels.ravel()[grid.flat(plan.xy_mm[rows])])
    painted = np.flatnonzero(labels)
    pixel_groups = _grouped(painted, labels.ravel()[painted])
    number = np.full(int(labels.max()) + 1, -1, dtype=np.int32)
    patches: list[Patch] = []
    for label, group in row_groups.items():
        if label > 0:
            number[label] = base + len(patches)
            patches.append(Patch(group, thread, is_satin, pixel_groups[label]))
    return patches, number[labels].ravel()


def _grouped(values: NDArray[np.int64], keys: NDArray[np.int32]) -> dict[int, NDArray[np.int64]]:
    """Return the values of each key, in their own order."""
    if not len(values):
        return {}
    order = np.argsort(keys, kind="stable")
    names, first = np.unique(keys[order], return_index=True)
    return dict(zip(names.tolist(), np.split(values[order], first[1:]), strict=True))


def _absorb_small(patches: list[Patch], layers: list[_Layer], grid: PixelGrid) -> list[Patch]:
    """Give patches of few stitches (ends of columns, ties, ways between) to what they touch.

    The smallest goes first, to the neighbour of its thread that it touches along the most pixels.
    """
    order = sorted(range(len(patches)), key=lambda i: (-len(patches[i].rows), patches[i].rows[0]))
    rank = np.empty(len(patches), dtype=np.int64)
    rank[order] = np.arange(len(patches))
    members: list[list[int]] = [[i] for i in range(len(patches))]
    size = [len(p.rows) for p in patches]
    root = np.arange(len(patches))
    for i in reversed(order):
        if size[i] >= FEW_STITCHES:
            continue
        pixels = np.concatenate([patches[k].pixels for k in members[i]])
        if not patches[i].is_satin and _lies_under(pixels, layers, root):
            continue
        into = _most_touched(pixels, layers, root, grid)
        names, counts = into[:, rank[into[0]] < rank[i]]
        if len(names):
            best = int(names[np.lexsort((rank[names], -counts))[0]])
            members[best] += members[i]
            size[best] += size[i]
            root[members[i]] = best
            members[i] = []
    return [_joined([patches[k] for k in group]) for group in members if group]


def _owners(
    at: NDArray[np.int64], layers: list[_Layer], root: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Return (2, k) int64: the patches at some pixels, and how often each is there."""
    seen = np.concatenate([layer.owner[at] for layer in layers]) if layers else at[:0]
    names, counts = np.unique(root[seen[seen >= 0]], return_counts=True)
    return np.array([names, counts], dtype=np.int64)


def _most_touched(
    pixels: NDArray[np.int64], layers: list[_Layer], root: NDArray[np.int64], grid: PixelGrid
) -> NDArray[np.int64]:
    """Return the patches within ``NEAR_PIXELS`` and how much of them is there, see ``_owners``."""
    return _owners(np.unique(grid.around(pixels, _AROUND)), layers, root)


def _lies_under(pixels: NDArray[np.int64], layers: list[_Layer], root: NDArray[np.int64]) -> bool:
    """Return whether lines lie within one satin patch of their thread: they are its underlay."""
    satin = [layer for layer in layers if layer.is_satin]
    counts = _owners(pixels, satin, root)[1]
    return bool((counts > (1 - HIDDEN_SHARE) * len(pixels)).any())


def _joined(parts: list[Patch]) -> Patch:
    """Return a patch of all parts, of the first one's manner."""
    if len(parts) == 1:
        return parts[0]
    rows = np.sort(np.concatenate([p.rows for p in parts]))
    pixels = np.unique(np.concatenate([p.pixels for p in parts]))
    return Patch(rows, parts[0].thread, parts[0].is_satin, pixels)
