"""Soft edges sharpened: each pixel takes the colour found down the slope, where it is flat.

Input: a picture and how steep it is. Output: for each pixel the index of the pixel that a few
steps towards flatter neighbours lead to. Half of a blurred edge goes to either side.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def descend_steepness(steep: NDArray[np.float32], least: float, steps: int) -> NDArray[np.int32]:
    """Return where each pixel's walk to flatter pixels ends.

    Parameters
    ----------
    steep : (h, w) float32
        Change of colour per pixel.
    least : float
        Pixels no steeper than this stay where they are.
    steps : int
        Most steps of a walk, each to the flattest of the eight neighbours.

    Returns
    -------
    (h, w) int32
        Row · w + column of the last pixel.
    """
    n_rows, n_cols = steep.shape
    next_pixel = np.empty(n_rows * n_cols, dtype=np.int32)
    for y in range(n_rows):
        for x in range(n_cols):
            best, choice = steep[y, x], y * n_cols + x
            if best > least:
                for j in range(max(0, y - 1), min(n_rows, y + 2)):
                    for i in range(max(0, x - 1), min(n_cols, x + 2)):
                        if steep[j, i] < best:
                            best, choice = steep[j, i], j * n_cols + i
            next_pixel[y * n_cols + x] = choice
    out = np.empty((n_rows, n_cols), dtype=np.int32)
    for y in range(n_rows):
        for x in range(n_cols):
            at = y * n_cols + x
            for _ in range(steps):
                at = next_pixel[at]
            out[y, x] = at
    return out
