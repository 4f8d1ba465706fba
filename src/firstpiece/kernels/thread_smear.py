"""Thread laid over a raster of square elements: how stiff it makes each, and how it pulls.

Input: pieces of thread with a stiffness, a free strain and a load case. Output: sums per element.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

STEPS_PER_CELL = 4.0


@njit(cache=True)
def smear_thread(
    segments: NDArray[np.float64],
    strain: NDArray[np.float64],
    case: NDArray[np.int64],
    shape: tuple[int, int],
    n_cases: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the direction sums of thread in each element.

    Parameters
    ----------
    segments : (m, 4) float64 [elements]
        x0, y0, x1, y1 in units of elements, from the raster's lower left.
    strain : (m,) float64
        Free strain of each piece along itself; negative shortens.
    case : (m,) int64
        Load case of each piece.
    shape : tuple of int
        Rows (up) and columns of elements.
    n_cases : int

    Returns
    -------
    stiffness : (rows·columns, 3, 3) float64 [elements]
        Σ length · n nᵀ with n = (c², s², cs), c and s the direction's cosine and sine.
    force : (n_cases, rows·columns, 3) float64 [elements]
        Σ length · strain · n.
    """
    rows, cols = shape
    stiffness = np.zeros((rows * cols, 3, 3))
    force = np.zeros((n_cases, rows * cols, 3))
    n = np.empty(3)
    for k in range(segments.shape[0]):
        dx, dy = segments[k, 2] - segments[k, 0], segments[k, 3] - segments[k, 1]
        length = math.hypot(dx, dy)
        if length == 0.0:
            continue
        c, s = dx / length, dy / length
        n[0], n[1], n[2] = c * c, s * s, c * s
        steps = max(1, math.ceil(length * STEPS_PER_CELL))
        piece = length / steps
        for i in range(steps):
            along = (i + 0.5) / steps
            col = math.floor(segments[k, 0] + along * dx)
            row = math.floor(segments[k, 1] + along * dy)
            if not (0 <= row < rows and 0 <= col < cols):
                continue
            e = row * cols + col
            for a in range(3):
                force[case[k], e, a] += piece * strain[k] * n[a]
                for b in range(3):
                    stiffness[e, a, b] += piece * n[a] * n[b]
    return stiffness, force


@njit(cache=True)
def read_field(
    points: NDArray[np.float64],
    case: NDArray[np.int64],
    field: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the bilinear value of a nodal field at points, each in its own case.

    Parameters
    ----------
    points : (n, 2) float64 [elements]
        x, y in units of elements; points off the raster take the nearest edge's value.
    case : (n,) int64
    field : (k, rows + 1, columns + 1, 2) float64

    Returns
    -------
    (n, 2) float64
    """
    rows, cols = field.shape[1] - 1, field.shape[2] - 1
    found = np.empty((points.shape[0], 2))
    for i in range(points.shape[0]):
        x = min(max(points[i, 0], 0.0), float(cols))
        y = min(max(points[i, 1], 0.0), float(rows))
        col, row = min(int(x), cols - 1), min(int(y), rows - 1)
        s, t = x - col, y - row
        for side in range(2):
            low = (1.0 - s) * field[case[i], row, col, side]
            low += s * field[case[i], row, col + 1, side]
            high = (1.0 - s) * field[case[i], row + 1, col, side]
            high += s * field[case[i], row + 1, col + 1, side]
            found[i, side] = (1.0 - t) * low + t * high
    return found
