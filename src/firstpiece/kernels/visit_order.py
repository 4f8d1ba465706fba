"""A short open walk over places: nearest next, then improved by turning stretches round.

Input: a matrix of distances. Output: the order of visits. The first place is fixed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def short_walk(distance: NDArray[np.float64], rounds: int) -> NDArray[np.int64]:
    """Return an order that starts at place 0 and visits all, by nearest next and 2-opt (Croes 1958).

    Parameters
    ----------
    distance : (n, n) float64
        Symmetric; any unit.
    rounds : int
        Most passes of improvement.

    Returns
    -------
    (n,) int64
    """
    n = distance.shape[0]
    order = np.zeros(n, dtype=np.int64)
    seen = np.zeros(n, dtype=np.bool_)
    for k in range(n):
        if k > 0:
            best = -1
            for j in range(n):
                if not seen[j] and (
                    best < 0 or distance[order[k - 1], j] < distance[order[k - 1], best]
                ):
                    best = j
            order[k] = best
        seen[order[k]] = True
    for _ in range(rounds):
        improved = False
        for i in range(1, n - 1):
            for j in range(i + 1, n):
                before = distance[order[i - 1], order[i]]
                after = distance[order[i - 1], order[j]]
                if j + 1 < n:
                    before += distance[order[j], order[j + 1]]
                    after += distance[order[i], order[j + 1]]
                if after < before - 1e-9:
                    order[i : j + 1] = order[i : j + 1][::-1].copy()
                    improved = True
        if not improved:
            break
    return order
