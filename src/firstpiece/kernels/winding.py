"""How often closed outlines wind round points: the number that fill rules ask for.

Input: points and the straight edges of closed outlines. Output: winding numbers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def winding_numbers(points: NDArray[np.float64], edges: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the winding number of the outlines round each point.

    Parameters
    ----------
    points : (n, 2) float64
        None lies on an edge.
    edges : (m, 4) float64
        x and y of the start, x and y of the end; together closed.

    Returns
    -------
    (n,) int64
        Upward crossings to the right of the point less downward ones.
    """
    winding = np.zeros(points.shape[0], dtype=np.int64)
    for i in range(points.shape[0]):
        x, y = points[i, 0], points[i, 1]
        for j in range(edges.shape[0]):
            y0, y1 = edges[j, 1], edges[j, 3]
            if (y0 <= y) == (y1 <= y):
                continue
            cross_x = edges[j, 0] + (y - y0) / (y1 - y0) * (edges[j, 2] - edges[j, 0])
            if cross_x > x:
                winding[i] += 1 if y1 > y0 else -1
    return winding
