"""The edges between unlike pixels, followed from junction to junction, each exactly once.

Input: a label map. Output: arcs through pixel corners with the labels on either side.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Steps in corner coordinates (x right, y down): east, south, west, north.
_DX = np.array([1, 0, -1, 0])
_DY = np.array([0, 1, 0, -1])


@njit(cache=True)
def _label(labels: NDArray[np.int32], y: int, x: int, outside: int) -> int:
    if 0 <= y < labels.shape[0] and 0 <= x < labels.shape[1]:
        return int(labels[y, x])
    return outside


@njit(cache=True)
def _sides(labels: NDArray[np.int32], y: int, x: int, step: int, outside: int) -> tuple[int, int]:
    """Labels left and right of the crack leaving corner (x, y), seen with y down."""
    if step == 0:
        return _label(labels, y - 1, x, outside), _label(labels, y, x, outside)
    if step == 1:
        return _label(labels, y, x, outside), _label(labels, y, x - 1, outside)
    if step == 2:
        return _label(labels, y, x - 1, outside), _label(labels, y - 1, x - 1, outside)
    return _label(labels, y - 1, x - 1, outside), _label(labels, y - 1, x, outside)


@njit(cache=True)
def _find_cracks(
    labels: NDArray[np.int32], outside: int
) -> tuple[NDArray[np.bool_], NDArray[np.uint8]]:
    """Which of the four steps from each corner run along a crack, and how many do."""
    n_rows, n_cols = labels.shape
    has_crack = np.zeros((n_rows + 1, n_cols + 1, 4), dtype=np.bool_)
    degree = np.zeros((n_rows + 1, n_cols + 1), dtype=np.uint8)
    for y in range(n_rows + 1):
        for x in range(n_cols + 1):
            here = _label(labels, y, x, outside)
            if here != _label(labels, y - 1, x, outside) and x < n_cols:
                has_crack[y, x, 0] = has_crack[y, x + 1, 2] = True
                degree[y, x] += 1
                degree[y, x + 1] += 1
            if here != _label(labels, y, x - 1, outside) and y < n_rows:
                has_crack[y, x, 1] = has_crack[y + 1, x, 3] = True
                degree[y, x] += 1
                degree[y + 1, x] += 1
    return has_crack, degree


@njit(cache=True)
def _follow(  # noqa: PLR0913 (a kernel's plain arguments)
    has_crack: NDArray[np.bool_],
    degree: NDArray[np.uint8],
    y: int,
    x: int,
    step: int,
    corners: NDArray[np.int32],
    n: int,
) -> int:
    """Walk from (x, y) until a junction or the start, erasing cracks; return the new count."""
    start_y, start_x = y, x
    corners[n, 0], corners[n, 1] = x, y
    n += 1
    while True:
        has_crack[y, x, step] = False
        x, y = x + _DX[step], y + _DY[step]
        has_crack[y, x, (step + 2) % 4] = False
        corners[n, 0], corners[n, 1] = x, y
        n += 1
        if degree[y, x] != 2 or (x == start_x and y == start_y):
            return n
        for turn in range(4):
            if has_crack[y, x, turn]:
                step = turn
                break


@njit(cache=True)
def trace_cracks(
    labels: NDArray[np.int32], outside: int
) -> tuple[NDArray[np.int32], NDArray[np.int64], NDArray[np.int32]]:
    """Return all arcs between unlike pixels; neighbours share each arc.

    Parameters
    ----------
    labels : (h, w) int32
        One label per pixel.
    outside : int
        Label of everything beyond the map's frame.

    Returns
    -------
    corners : (n, 2) int32
        Pixel corners (x, y), y down, arc after arc. An arc runs between two corners where three
        or more cracks meet, or is closed (first corner = last corner).
    starts : (m + 1,) int64
        Arc i is ``corners[starts[i]:starts[i + 1]]``.
    sides : (m, 2) int32
        Labels on the arc's left and right when walking along it with y pointing down.
    """
    has_crack, degree = _find_cracks(labels, outside)
    n_cracks = int(np.sum(has_crack)) // 2
    corners = np.empty((2 * n_cracks + 2, 2), dtype=np.int32)
    starts = np.zeros(n_cracks + 1, dtype=np.int64)
    sides = np.empty((n_cracks, 2), dtype=np.int32)
    n, m = 0, 0
    for wants_junction in (True, False):
        for y in range(degree.shape[0]):
            for x in range(degree.shape[1]):
                if wants_junction and degree[y, x] <= 2:
                    continue
                for step in range(4):
                    if has_crack[y, x, step]:
                        left, right = _sides(labels, y, x, step, outside)
                        sides[m, 0], sides[m, 1] = left, right
                        n = _follow(has_crack, degree, y, x, step, corners, n)
                        m += 1
                        starts[m] = n
    return corners[:n].copy(), starts[: m + 1].copy(), sides[:m].copy()


@njit(cache=True)
def _share(code: NDArray[np.float32], near: NDArray[np.float32], far: NDArray[np.float32]) -> float:
    """How far a colour lies on the way from the near one to the far one, 0 to 1."""
    along, length2 = 0.0, 0.0
    for c in range(code.shape[0]):
        step = far[c] - near[c]
        along += (code[c] - near[c]) * step
        length2 += step * step
    return min(max(along / length2, 0.0), 1.0) if length2 > 0.0 else 0.0


@njit(cache=True)
def crack_middles(
    corners: NDArray[np.int32],
    codes: NDArray[np.float32],
    paint: NDArray[np.int32],
    colors: NDArray[np.float32],
) -> NDArray[np.float64]:
    """Return where the edge crosses between the two pixels beside each crack.

    The colours of soft edges tell more than whole pixels do: the edge lies where the mixture of the
    two sides' colours is half and half, on the line between the two pixel centres.

    Parameters
    ----------
    corners : (n, 2) int32
        Pixel corners (x, y) from ``trace_cracks``, arc after arc.
    codes : (h, w, c) float32
        Colours of the pixels, on a scale that mixes linearly.
    paint : (h, w) int32
        Colour number of each pixel.
    colors : (k, c) float32
        Unmixed colours.

    Returns
    -------
    (n, 2) float64
        Row i lies on the crack from corner i to corner i + 1, moved across it by up to half a
        pixel; rows at the end of an arc, and the last, mean nothing.
    """
    n_rows, n_cols = paint.shape
    middles = np.zeros((corners.shape[0], 2))
    for i in range(corners.shape[0] - 1):
        x0, y0 = corners[i]
        x1, y1 = corners[i + 1]
        middles[i, 0], middles[i, 1] = (x0 + x1) / 2.0, (y0 + y1) / 2.0
        if abs(x0 - x1) + abs(y0 - y1) != 1:
            continue
        x, y = min(x0, x1), min(y0, y1)
        is_level = y0 == y1
        before_x, before_y = (x, y - 1) if is_level else (x - 1, y)
        if before_x < 0 or before_y < 0 or x >= n_cols or y >= n_rows:
            continue
        a, b = paint[before_y, before_x], paint[y, x]
        before = _share(codes[before_y, before_x], colors[a], colors[b])
        after = _share(codes[y, x], colors[a], colors[b])
        if before <= 0.5 <= after and after > before:
            shift = (0.5 - before) / (after - before) - 0.5
            middles[i, 1 if is_level else 0] += shift
    return middles


@njit(cache=True)
def join_diagonals(labels: NDArray[np.int32], rounds: int = 4) -> NDArray[np.int32]:
    """Return the map without 2 × 2 checkerboards: the rarer colour nearby is joined.

    A line one pixel wide that runs diagonally is a chain of pixels that touch at corners only;
    joining them keeps it one area.

    Parameters
    ----------
    labels : (h, w) int32
    rounds : int
        Joining may make a new checkerboard beside the old one; sweeps are repeated this often.

    Returns
    -------
    (h, w) int32
    """
    out = labels.copy()
    n_rows, n_cols = out.shape
    for _ in range(rounds):
        changed = False
        for y in range(n_rows - 1):
            for x in range(n_cols - 1):
                a, b = out[y, x], out[y, x + 1]
                if a == b or out[y + 1, x + 1] != a or out[y + 1, x] != b:
                    continue
                n_a, n_b = 0, 0
                for j in range(max(0, y - 1), min(n_rows, y + 3)):
                    for i in range(max(0, x - 1), min(n_cols, x + 3)):
                        n_a += out[j, i] == a
                        n_b += out[j, i] == b
                if n_a <= n_b:
                    out[y, x + 1] = a
                else:
                    out[y, x] = b
                changed = True
        if not changed:
            break
    return out
