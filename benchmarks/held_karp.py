"""The bound of Held & Karp on a round over parts with two ends, by 1-trees and a subgradient.

No round is shorter. Each part's own two ends count as joined already, so a tree always holds that
link and pays nothing for it. Held & Karp, The traveling-salesman problem and minimum spanning
trees: part II, 1971; the step rule is Polyak's with a little momentum.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

JOINED = -1e7


@njit(cache=True)
def _priced(distance, price, v, j):
    own = JOINED if j == (v ^ 1) else distance[v, j]
    return own + price[v] + price[j]


@njit(cache=True)
def _one_tree(distance, price):
    """Return the weight of the least 1-tree under prices, and the degree of every end."""
    n = distance.shape[0]
    degree = np.zeros(n, np.int64)
    best = np.full(n, np.inf)
    parent = np.full(n, -1, np.int64)
    inside = np.zeros(n, np.bool_)
    total = 0.0
    best[1] = 0.0
    for _ in range(n - 1):
        v = -1
        for j in range(1, n):
            if not inside[j] and (v < 0 or best[j] < best[v]):
                v = j
        inside[v] = True
        if parent[v] >= 0:
            total += best[v]
            degree[v] += 1
            degree[parent[v]] += 1
        for j in range(1, n):
            if not inside[j]:
                weight = _priced(distance, price, v, j)
                if weight < best[j]:
                    best[j], parent[j] = weight, v
    # End 0 is joined to its twin, and by the cheapest other link.
    total += JOINED + price[0] + price[1]
    nearest = 2
    for j in range(2, n):
        if distance[0, j] + price[j] < distance[0, nearest] + price[nearest]:
            nearest = j
    total += distance[0, nearest] + price[0] + price[nearest]
    degree[0] = 2
    degree[1] += 1
    degree[nearest] += 1
    return total - JOINED * (n // 2), degree


def held_karp_bound(distance: Floats, known_length: float, *, rounds: int) -> float:
    """Return a length that no closed round over all parts goes below.

    Parameters
    ----------
    distance : (2 n, 2 n) float64
        Between ends; ends 2 k and 2 k + 1 are one part's.
    known_length : float
        Of some round.
    rounds : int
        Subgradient steps at most.
    """
    price = np.zeros(len(distance))
    best, best_price, stride, stalled = -np.inf, price, 1.0, 0
    way = np.zeros(len(distance))
    for _ in range(rounds):
        weight, degree = _one_tree(distance, price)
        bound = weight - 2 * price.sum()
        if bound > best + 1e-9:
            best, best_price, stalled = bound, price.copy(), 0
        else:
            stalled += 1
        if stalled > 40:
            stride, stalled, price = stride / 2, 0, best_price.copy()
            way[:] = 0.0
            continue
        excess = (degree - 2).astype(np.float64)
        length = float((excess**2).sum())
        if length == 0 or stride < 1e-4:
            break
        way = excess + 0.6 * way
        price = price + stride * (known_length - bound) / length * way
    return float(best)
