"""Where laid thread differs between two versions of a plan, as windows of the raster.

Input: pieces of thread before and after. Output: a few windows that hold every difference, or
none when so much changed that everything is better measured anew.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.kernels.coverage import Grid

Window = tuple[int, int, int, int]

# Side of the tiles in which changes are gathered, and the share of the raster up to which
# measuring windows is the quicker way.
TILE_PX = 64
MOST_CHANGED = 0.5


def changed_pieces(
    before: NDArray[np.float64], after: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the pieces that only one of two lists holds: those gone and those new.

    Parameters
    ----------
    before, after : (m, k) float64
        One row per piece: its ends and whatever else makes it.

    Notes
    -----
    What both lists begin and end with is the same; between, rows are matched as multisets by a
    64-bit mix of their bits, so an area that moved in the order is not a change.
    """
    shared = min(len(before), len(after))
    same = (before[:shared] == after[:shared]).all(axis=1)
    head = shared if same.all() else int(np.argmin(same))
    rest = shared - head
    same = (before[len(before) - rest :] == after[len(after) - rest :]).all(axis=1)
    tail = rest if same.all() else int(np.argmin(same[::-1]))
    old, new = before[head : len(before) - tail], after[head : len(after) - tail]
    codes = np.concatenate([_mixed(old), _mixed(new)])
    _values, place = np.unique(codes, return_inverse=True)
    sign = np.concatenate([-np.ones(len(old)), np.ones(len(new))])
    balance = np.bincount(place, sign, minlength=1)[place]
    return old[balance[: len(old)] < 0], new[balance[len(old) :] > 0]


def _mixed(rows: NDArray[np.float64]) -> NDArray[np.uint64]:
    bits = np.ascontiguousarray(rows).view(np.uint64).reshape(rows.shape)
    code = np.zeros(len(rows), dtype=np.uint64)
    for column in bits.T:
        code = (code ^ column) * np.uint64(0x9E3779B97F4A7C15)
        code ^= code >> np.uint64(31)
    return code


def changed_windows(
    ends_mm: NDArray[np.float64], reach_mm: float, grid: Grid
) -> list[Window] | None:
    """Return windows (first row, end row, first column, end column) round pieces of thread.

    Parameters
    ----------
    ends_mm : (m, 4) float64 [mm]
    reach_mm : float [mm]
        Half the widest thread.
    grid : Grid

    Returns
    -------
    list of Window or None
        None when they take more than half the raster.
    """
    if not len(ends_mm):
        return []
    tiles = np.zeros((grid.n_rows // TILE_PX + 1, grid.n_cols // TILE_PX + 1), dtype=np.uint8)
    margin = reach_mm + 2 * grid.pixel_mm
    x, y = np.sort(ends_mm[:, 0::2], axis=1), np.sort(ends_mm[:, 1::2], axis=1)
    sides = np.column_stack([
        (grid.top_mm - y[:, 1] - margin), (grid.top_mm - y[:, 0] + margin),
        (x[:, 0] - margin - grid.left_mm), (x[:, 1] + margin - grid.left_mm),
    ])  # fmt: skip
    last = np.array([tiles.shape[0], tiles.shape[0], tiles.shape[1], tiles.shape[1]]) - 1
    box = np.clip(np.floor(sides / grid.pixel_mm / TILE_PX).astype(np.int64), 0, last)
    for top, bottom, left, right in np.unique(box, axis=0):
        tiles[top : bottom + 1, left : right + 1] = 1
    if tiles.mean() > MOST_CHANGED:
        return None
    count, _labels, stats, _middles = cv2.connectedComponentsWithStats(tiles, connectivity=8)
    windows = []
    for patch in range(1, count):
        left, top, width, height = (int(v) * TILE_PX for v in stats[patch, :4])
        windows.append((top, min(top + height, grid.n_rows), left, min(left + width, grid.n_cols)))
    taken = sum((w[1] - w[0]) * (w[3] - w[2]) for w in windows)
    return windows if taken <= MOST_CHANGED * grid.n_rows * grid.n_cols else None


def grown(window: Window, by: float, grid: Grid) -> Window:
    """Return a window grown by so many pixels on every side, kept on the raster."""
    n = math.ceil(by)
    return (
        max(0, window[0] - n),
        min(grid.n_rows, window[1] + n),
        max(0, window[2] - n),
        min(grid.n_cols, window[3] + n),
    )


def touching(
    ends_mm: NDArray[np.float64], reach_mm: float, window: Window, grid: Grid
) -> NDArray[np.int64]:
    """Return (k,) int64: the pieces that may reach into a window."""
    margin = reach_mm + 2 * grid.pixel_mm
    top, bottom = (grid.top_mm - v * grid.pixel_mm for v in window[:2])
    left, right = (grid.left_mm + v * grid.pixel_mm for v in window[2:])
    x, y = ends_mm[:, 0::2], ends_mm[:, 1::2]
    near = (x.max(axis=1) >= left - margin) & (x.min(axis=1) <= right + margin)
    near &= (y.max(axis=1) >= bottom - margin) & (y.min(axis=1) <= top + margin)
    return np.flatnonzero(near)
