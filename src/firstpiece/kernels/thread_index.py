"""Thread laid on a plane, held in bins, so that one can ask what a changed stitch would uncover.

Input: straight pieces of thread in sewing order. A piece can be added and taken off; ``lost_area``
and ``new_area`` compare a few old pieces with a few new ones, sampled on ribbons of thread.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

BIN_MM = 1.0
SAMPLE_MM = 0.1


class ThreadIndex(NamedTuple):
    """Pieces of thread by the bins they touch.

    Bin (row, col) spans ``BIN_MM`` from x = ``left_mm`` + col and y = ``low_mm`` + row. ``head``
    (n_rows, n_cols) and ``follow`` (e,) int32 chain entries, -1 ends a chain; ``owner`` (e,) int32
    is an entry's piece. Of a piece: ``ends_mm`` (p, 4) float64 [mm], ``when`` (p,) int64 its place
    in the sewing order, ``alive`` (p,) bool. ``used`` (2,) int64 counts entries and pieces.
    """

    left_mm: float
    low_mm: float
    half_mm: float
    head: NDArray[np.int32]
    follow: NDArray[np.int32]
    owner: NDArray[np.int32]
    ends_mm: NDArray[np.float64]
    when: NDArray[np.int64]
    alive: NDArray[np.bool_]
    used: NDArray[np.int64]


@njit(cache=True)
def _distance2(x: float, y: float, ends: NDArray[np.float64]) -> float:
    """Return the squared distance of a point from a piece."""
    dx, dy = ends[2] - ends[0], ends[3] - ends[1]
    size = dx * dx + dy * dy
    t = 0.0
    if size > 1e-18:
        t = min(1.0, max(0.0, ((x - ends[0]) * dx + (y - ends[1]) * dy) / size))
    return (x - ends[0] - t * dx) ** 2 + (y - ends[1] - t * dy) ** 2


@njit(cache=True)
def add_piece(index: ThreadIndex, ends_mm: NDArray[np.float64], when: int) -> int:
    """Add a piece and return its number, -1 when the index is full.

    Parameters
    ----------
    index : ThreadIndex
    ends_mm : (4,) float64 [mm]
        x0, y0, x1, y1.
    when : int
        Place in the sewing order.
    """
    piece = index.used[1]
    if piece >= len(index.when):
        return -1
    index.ends_mm[piece] = ends_mm
    index.when[piece] = when
    index.alive[piece] = True
    index.used[1] += 1
    reach = index.half_mm
    n_rows, n_cols = index.head.shape
    row0 = max(0, int((min(ends_mm[1], ends_mm[3]) - reach - index.low_mm) / BIN_MM))
    row1 = min(n_rows - 1, int((max(ends_mm[1], ends_mm[3]) + reach - index.low_mm) / BIN_MM))
    col0 = max(0, int((min(ends_mm[0], ends_mm[2]) - reach - index.left_mm) / BIN_MM))
    col1 = min(n_cols - 1, int((max(ends_mm[0], ends_mm[2]) + reach - index.left_mm) / BIN_MM))
    touch2 = (reach + 0.7072 * BIN_MM) ** 2
    for row in range(row0, row1 + 1):
        for col in range(col0, col1 + 1):
            x = index.left_mm + (col + 0.5) * BIN_MM
            y = index.low_mm + (row + 0.5) * BIN_MM
            if _distance2(x, y, ends_mm) > touch2:
                continue
            entry = index.used[0]
            if entry >= len(index.follow):
                return -1
            index.owner[entry] = piece
            index.follow[entry] = index.head[row, col]
            index.head[row, col] = entry
            index.used[0] += 1
    return piece


@njit(cache=True)
def add_pieces(index: ThreadIndex, ends_mm: NDArray[np.float64], when: NDArray[np.int64]) -> bool:
    """Add pieces in order; False when the index is full.

    Parameters
    ----------
    index : ThreadIndex
    ends_mm : (m, 4) float64 [mm]
    when : (m,) int64
    """
    is_full = False
    for k in range(len(when)):
        is_full = is_full or add_piece(index, ends_mm[k], when[k]) < 0
    return not is_full


@njit(cache=True)
def _is_covered(
    index: ThreadIndex, x: float, y: float, since: int, skip: NDArray[np.int64]
) -> bool:
    """Return whether a piece sewn at ``since`` or later lies over a point, some left out."""
    n_rows, n_cols = index.head.shape
    row = int((y - index.low_mm) / BIN_MM)
    col = int((x - index.left_mm) / BIN_MM)
    if row < 0 or col < 0 or row >= n_rows or col >= n_cols:
        return False
    half2 = index.half_mm * index.half_mm
    entry = index.head[row, col]
    while entry >= 0:
        piece = index.owner[entry]
        entry = index.follow[entry]
        if not index.alive[piece] or index.when[piece] < since:
            continue
        left_out = False
        for k in range(len(skip)):
            left_out = left_out or skip[k] == piece
        if not left_out and _distance2(x, y, index.ends_mm[piece]) <= half2:
            return True
    return False


@njit(cache=True)
def open_area(
    index: ThreadIndex,
    ribbons_mm: NDArray[np.float64],
    since: int,
    skip: NDArray[np.int64],
    beside_mm: NDArray[np.float64],
    most_mm2: float,
) -> float:
    """Return the area [mm²] of ribbons of thread over which no other thread lies.

    Parameters
    ----------
    index : ThreadIndex
    ribbons_mm : (r, 4) float64 [mm]
        Ends of the ribbons looked at; where two overlap the area counts twice.
    since : int
        Only pieces sewn at this place in the order or later count.
    skip : (s,) int64
        Pieces that do not count.
    beside_mm : (b, 4) float64 [mm]
        Pieces that count beside those of the index.
    most_mm2 : float [mm²]
        The sum stops when it is over this.

    Notes
    -----
    Sampled every ``SAMPLE_MM`` along and across; a thread has round ends.
    """
    area = 0.0
    half2 = index.half_mm * index.half_mm
    n_across = max(1, int(2 * index.half_mm / SAMPLE_MM))
    for r in range(len(ribbons_mm)):
        x0, y0 = ribbons_mm[r, 0], ribbons_mm[r, 1]
        dx, dy = ribbons_mm[r, 2] - x0, ribbons_mm[r, 3] - y0
        length = math.hypot(dx, dy)
        if length < 1e-9:
            continue
        ux, uy = dx / length, dy / length
        n_along = max(1, math.ceil(length / SAMPLE_MM))
        pixel = length / n_along * 2 * index.half_mm / n_across
        for i in range(n_along):
            along = (i + 0.5) / n_along * length
            for j in range(n_across):
                across = ((j + 0.5) / n_across * 2 - 1) * index.half_mm
                x, y = x0 + ux * along - uy * across, y0 + uy * along + ux * across
                beside = False
                for b in range(len(beside_mm)):
                    beside = beside or _distance2(x, y, beside_mm[b]) <= half2
                if not beside and not _is_covered(index, x, y, since, skip):
                    area += pixel
            if area > most_mm2:
                return area
    return area


def make_index(
    ends_mm: NDArray[np.float64], when: NDArray[np.int64], half_mm: float, spare: int
) -> ThreadIndex:
    """Return the index of pieces, with room for more.

    Parameters
    ----------
    ends_mm : (m, 4) float64 [mm]
    when : (m,) int64
        Place of each piece in the sewing order.
    half_mm : float [mm]
        Half the laid width.
    spare : int
        Pieces that may be added.
    """
    points = ends_mm.reshape(-1, 2) if len(ends_mm) else np.zeros((1, 2))
    low, high = points.min(axis=0) - 1.0, points.max(axis=0) + 1.0
    n_cols, n_rows = (int(v) + 1 for v in (high - low) / BIN_MM)
    lengths = np.abs(ends_mm[:, :2] - ends_mm[:, 2:]).sum(axis=1) if len(ends_mm) else np.zeros(0)
    room = int(4 * lengths.sum() / BIN_MM) + 8 * len(ends_mm) + 60 * spare + 64
    index = ThreadIndex(
        float(low[0]), float(low[1]), half_mm,
        np.full((n_rows, n_cols), -1, np.int32),
        np.empty(room, np.int32), np.empty(room, np.int32),
        np.empty((len(ends_mm) + spare, 4)), np.empty(len(ends_mm) + spare, np.int64),
        np.zeros(len(ends_mm) + spare, np.bool_), np.zeros(2, np.int64),
    )  # fmt: skip
    add_pieces(index, np.ascontiguousarray(ends_mm), when)
    return index
