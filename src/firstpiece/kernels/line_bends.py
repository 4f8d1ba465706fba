"""Which points a line needs to keep its bends.

Input: a polyline and how far it may be cut short. Output: a mask of the points that stay. It knows
no stitches; a line through the kept points strays nowhere by more than the limit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def bend_points(xy_mm: NDArray[np.float64], sag_mm: float) -> NDArray[np.bool_]:
    """Return the points a simplified line keeps (Douglas & Peucker 1973, without recursion).

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    sag_mm : float [mm]
        How far the line may stray from a point that is left out.

    Returns
    -------
    (n,) bool
        The first and last are kept.
    """
    n = len(xy_mm)
    keep = np.zeros(n, np.bool_)
    if n == 0:
        return keep
    keep[0] = keep[n - 1] = True
    todo = np.empty((n + 1, 2), np.int64)
    todo[0, 0], todo[0, 1] = 0, n - 1
    size = 1
    while size > 0:
        size -= 1
        a, b = todo[size, 0], todo[size, 1]
        dx, dy = xy_mm[b, 0] - xy_mm[a, 0], xy_mm[b, 1] - xy_mm[a, 1]
        length2 = max(dx * dx + dy * dy, 1e-18)
        far, most = -1, sag_mm * sag_mm
        for i in range(a + 1, b):
            x, y = xy_mm[i, 0] - xy_mm[a, 0], xy_mm[i, 1] - xy_mm[a, 1]
            # To the chord itself, not its line: a hairpin sticks out beyond the ends.
            t = min(1.0, max(0.0, (x * dx + y * dy) / length2))
            off = (x - t * dx) ** 2 + (y - t * dy) ** 2
            if off > most:
                far, most = i, off
        if far >= 0:
            keep[far] = True
            todo[size, 0], todo[size, 1] = a, far
            todo[size + 1, 0], todo[size + 1, 1] = far, b
            size += 2
    return keep
