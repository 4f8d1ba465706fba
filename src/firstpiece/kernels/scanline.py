"""Rows across a polygon: where each enters and leaves, which spans continue which, and stitches.

Input: the polygon's edges in a frame whose rows run along x, and evenly spaced row heights.
Output: flat arrays; a *span* is one stretch of one row inside the polygon, numbered row by row.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@njit(cache=True)
def _rows_met(y0: float, y1: float, first_mm: float, spacing_mm: float, n_rows: int) -> tuple[
    int, int
]:  # fmt: skip
    """Return the first and last row an edge may meet, one too many on both sides."""
    low, high = min(y0, y1), max(y0, y1)
    k0 = max(0, int(np.ceil((low - first_mm) / spacing_mm)) - 1)
    k1 = min(n_rows - 1, int(np.floor((high - first_mm) / spacing_mm)) + 1)
    return k0, k1


@njit(cache=True)
def cut_rows(edges_mm: Floats, first_mm: float, spacing_mm: float, n_rows: int) -> tuple[
    Ints, Floats
]:  # fmt: skip
    """Return where each row crosses the edges, sorted along the row.

    An edge owns its lower end and not its upper one, so a vertex on a row counts once.

    Parameters
    ----------
    edges_mm : (m, 4) float64 [mm]
        x0, y0, x1, y1 of closed rings, in any order.
    first_mm, spacing_mm : float [mm]
        Height of row 0 and distance of rows.
    n_rows : int

    Returns
    -------
    row_start : (n_rows + 1,) int64
        Crossings of row k are ``row_start[k] : row_start[k + 1]``; always an even number.
    crossing_mm : (c,) float64 [mm]
    """
    counts = np.zeros(n_rows + 1, dtype=np.int64)
    for fill in range(2):
        if fill == 1:
            for k in range(n_rows):
                counts[k + 1] += counts[k]
            row_start = counts.copy()
            crossing = np.empty(counts[n_rows])
            cursor = row_start[:-1].copy()
        for e in range(edges_mm.shape[0]):
            x0, y0, x1, y1 = edges_mm[e]
            k0, k1 = _rows_met(y0, y1, first_mm, spacing_mm, n_rows)
            for k in range(k0, k1 + 1):
                y = first_mm + k * spacing_mm
                # The same comparison decides counting and filling, so both agree to the bit.
                if (y0 <= y) != (y1 <= y):
                    if fill == 0:
                        counts[k + 1] += 1
                    else:
                        crossing[cursor[k]] = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
                        cursor[k] += 1
    for k in range(n_rows):
        crossing[row_start[k] : row_start[k + 1]].sort()
    return row_start, crossing


@njit(cache=True)
def link_spans(row_start: Ints, left_mm: Floats, right_mm: Floats, overlap_mm: float) -> Ints:
    """Return the pairs of spans in neighbouring rows that share at least ``overlap_mm``.

    Parameters
    ----------
    row_start : (n_rows + 1,) int64
        Spans of row k are ``row_start[k] : row_start[k + 1]``, left to right.
    left_mm, right_mm : (s,) float64 [mm]
    overlap_mm : float [mm]

    Returns
    -------
    (k, 2) int64
        Span of the lower row, span of the upper row; sorted.
    """
    links = np.empty((4 * len(left_mm) + 4, 2), dtype=np.int64)
    n = 0
    for k in range(len(row_start) - 2):
        a, a_end = row_start[k], row_start[k + 1]
        b, b_end = row_start[k + 1], row_start[k + 2]
        while a < a_end and b < b_end:
            shared = min(right_mm[a], right_mm[b]) - max(left_mm[a], left_mm[b])
            if shared >= overlap_mm:
                links[n, 0] = a
                links[n, 1] = b
                n += 1
            if right_mm[a] < right_mm[b]:
                a += 1
            else:
                b += 1
    return links[:n].copy()


@njit(cache=True)
def drop_slit_links(links: Ints, left_mm: Floats, right_mm: Floats) -> Ints:
    """Return the links without those that step over a narrow slit lying aslant between two rows.

    Such a link joins spans on both sides of the slit, while each of the two has a better partner
    on its own side, and is that partner's best in turn.

    Parameters
    ----------
    links : (k, 2) int64
        As made by ``link_spans``.
    left_mm, right_mm : (s,) float64 [mm]

    Returns
    -------
    (m, 2) int64
    """
    n = len(left_mm)
    up, down = np.full(n, -1, dtype=np.int64), np.full(n, -1, dtype=np.int64)
    best_up, best_down = np.zeros(n), np.zeros(n)
    for i in range(links.shape[0]):
        a, b = links[i, 0], links[i, 1]
        shared = min(right_mm[a], right_mm[b]) - max(left_mm[a], left_mm[b])
        if shared > best_up[a]:
            best_up[a] = shared
            up[a] = b
        if shared > best_down[b]:
            best_down[b] = shared
            down[b] = a
    keep = np.ones(links.shape[0], dtype=np.bool_)
    for i in range(links.shape[0]):
        a, b = links[i, 0], links[i, 1]
        if up[a] != b and down[b] != a:
            keep[i] = not (down[up[a]] == a and up[down[b]] == b)
    return links[keep]


@njit(cache=True)
def label_cells(n_spans: int, links: Ints) -> Ints:
    """Return the cell of each span: spans joined one to one in neighbouring rows share a cell.

    Parameters
    ----------
    n_spans : int
    links : (k, 2) int64
        As made by ``link_spans``.

    Returns
    -------
    (n_spans,) int64
        Cells are numbered in the order of their lowest span.
    """
    n_up = np.zeros(n_spans, dtype=np.int64)
    n_down = np.zeros(n_spans, dtype=np.int64)
    below = np.full(n_spans, -1, dtype=np.int64)
    for i in range(links.shape[0]):
        n_up[links[i, 0]] += 1
        n_down[links[i, 1]] += 1
        below[links[i, 1]] = links[i, 0]
    cell = np.empty(n_spans, dtype=np.int64)
    n = 0
    for s in range(n_spans):
        if n_down[s] == 1 and n_up[below[s]] == 1:
            cell[s] = cell[below[s]]
        else:
            cell[s] = n
            n += 1
    return cell


@njit(cache=True)
def widen_spans(row_start: Ints, left_mm: Floats, right_mm: Floats, widen_mm: Floats) -> tuple[
    Floats, Floats
]:  # fmt: skip
    """Return spans made longer at both ends, at most by 0.4 of the gap between two of a row.

    Parameters
    ----------
    row_start : (n_rows + 1,) int64
    left_mm, right_mm : (s,) float64 [mm]
    widen_mm : (s,) float64 [mm]
        Widening of each end; negative shortens, never past a tenth of the span from its middle.

    Returns
    -------
    left_mm, right_mm : (s,) float64 [mm]
    """
    left = np.empty_like(left_mm)
    right = np.empty_like(right_mm)
    for k in range(len(row_start) - 1):
        for s in range(row_start[k], row_start[k + 1]):
            widen = max(widen_mm[s], -0.4 * (right_mm[s] - left_mm[s]))
            room_left = np.inf if s == row_start[k] else 0.4 * (left_mm[s] - right_mm[s - 1])
            last = s == row_start[k + 1] - 1
            room_right = np.inf if last else 0.4 * (left_mm[s + 1] - right_mm[s])
            left[s] = left_mm[s] - min(widen, room_left)
            right[s] = right_mm[s] + min(widen, room_right)
    return left, right


@njit(cache=True)
def lay_rows(
    left_mm: Floats, right_mm: Floats, y_mm: Floats, phase_mm: Floats, length_mm: float, side: int
) -> Floats:
    """Return the penetrations of rows sewn to and fro, one row after the other.

    Inner penetrations lie on a grid ``phase + j * length`` so that neighbouring rows are staggered;
    one closer than 0.3 of a stitch to a row's end is left out.

    Parameters
    ----------
    left_mm, right_mm, y_mm, phase_mm : (n,) float64 [mm]
        One span a row, in sewing order.
    length_mm : float [mm]
        Stitch length, more than 0.
    side : int
        0 begins the first row at its left end, 1 at its right end.

    Returns
    -------
    (p, 2) float64 [mm]
    """
    clear = 0.3 * length_mm
    n = 0
    for fill in range(2):
        if fill == 1:
            points = np.empty((n, 2))
            n = 0
        for i in range(len(left_mm)):
            low = int(np.ceil((left_mm[i] + clear - phase_mm[i]) / length_mm))
            high = int(np.floor((right_mm[i] - clear - phase_mm[i]) / length_mm))
            inner = max(0, high - low + 1)
            if fill == 0:
                n += inner + 2
                continue
            forward = (side + i) % 2 == 0
            points[n, 0] = left_mm[i] if forward else right_mm[i]
            points[n + inner + 1, 0] = right_mm[i] if forward else left_mm[i]
            for j in range(inner):
                tick = low + j if forward else high - j
                points[n + 1 + j, 0] = phase_mm[i] + tick * length_mm
            points[n : n + inner + 2, 1] = y_mm[i]
            n += inner + 2
    return points


@njit(cache=True)
def walk_spans(left_mm: Floats, right_mm: Floats, start_mm: float, margin_mm: float) -> Floats:
    """Return x in each span for a path across them that moves sideways only where it must.

    Parameters
    ----------
    left_mm, right_mm : (n,) float64 [mm]
        One span a row, in walking order.
    start_mm : float [mm]
        x before the first span.
    margin_mm : float [mm]
        Distance kept from span ends, where the span is wide enough.

    Returns
    -------
    (n,) float64 [mm]
    """
    x = np.empty(len(left_mm))
    here = start_mm
    for i in range(len(left_mm)):
        margin = min(margin_mm, 0.5 * (right_mm[i] - left_mm[i]))
        here = min(max(here, left_mm[i] + margin), right_mm[i] - margin)
        x[i] = here
    return x
