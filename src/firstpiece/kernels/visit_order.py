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
def nearest_next(distance: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return an order that starts at place 0 and always goes to the nearest place left.

    Parameters
    ----------
    distance : (n, n) float64
        Symmetric; any unit.

    Returns
    -------
    (n,) int64
    """
    n = distance.shape[0]
    order = np.zeros(n, dtype=np.int64)
    seen = np.zeros(n, dtype=np.bool_)
    for k in range(n):
        if k > 0:
            row = distance[order[k - 1]]
            best = -1
            for j in range(n):
                if not seen[j] and (best < 0 or row[j] < row[best]):
                    best = j
            order[k] = best
        seen[order[k]] = True
    return order


@njit(cache=True)
def short_walk(distance: NDArray[np.float64], rounds: int) -> NDArray[np.int64]:
    """Return an order that starts at place 0 and visits all: nearest next, then 2-opt.

    Parameters
    ----------
    distance : (n, n) float64
        Symmetric; any unit.
    rounds : int
        Most passes of improvement.

    Returns
    -------
    (n,) int64

    References
    ----------
    Croes, A method for solving traveling-salesman problems, 1958.
    """
    n = distance.shape[0]
    order = nearest_next(distance)
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
