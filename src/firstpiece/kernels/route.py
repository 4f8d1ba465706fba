"""The cheapest way across a grid of costs, for travel that must stay hidden.

Input: a raster of cost per step (infinite where the needle may not go), start and goal pixels.
Output: the pixels of one cheapest path; equal ones are decided by pixel number, never by chance.
"""

from __future__ import annotations

import heapq
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

_STEPS = np.array([[0, 1], [1, 0], [0, -1], [-1, 0], [1, 1], [1, -1], [-1, 1], [-1, -1]])


@njit(cache=True)
def cheapest_path(
    cost: NDArray[np.float64], start_row: int, start_col: int, goal_row: int, goal_col: int
) -> NDArray[np.int64]:
    """Return one cheapest path over a grid (Dijkstra 1959, with the estimate of Hart et al. 1968).

    A step to one of eight neighbours costs its length times the mean cost of both pixels.

    Parameters
    ----------
    cost : (h, w) float64
        At least 1 where passable, ``inf`` where not.
    start_row, start_col, goal_row, goal_col : int

    Returns
    -------
    (k, 2) int64
        Row and column from start to goal; (0, 2) when there is no way.
    """
    h, w = cost.shape
    best = np.full(h * w, np.inf)
    before = np.full(h * w, -1, dtype=np.int64)
    start, goal = start_row * w + start_col, goal_row * w + goal_col
    best[start] = 0.0
    queue = [(0.0, start)]
    done = np.zeros(h * w, dtype=np.bool_)
    while len(queue) > 0:
        _, here = heapq.heappop(queue)
        if done[here]:
            continue
        done[here] = True
        if here == goal:
            break
        r, c = here // w, here % w
        for step in range(8):
            rr, cc = r + _STEPS[step, 0], c + _STEPS[step, 1]
            if rr < 0 or cc < 0 or rr >= h or cc >= w or not np.isfinite(cost[rr, cc]):
                continue
            length = 1.0 if step < 4 else np.sqrt(2.0)
            there = rr * w + cc
            new = best[here] + 0.5 * length * (cost[r, c] + cost[rr, cc])
            if new < best[there]:
                best[there] = new
                before[there] = here
                ahead = np.hypot(float(rr - goal_row), float(cc - goal_col))
                heapq.heappush(queue, (new + ahead, there))
    return _trace_back(before, start, goal, w)


@njit(cache=True)
def _trace_back(before: NDArray[np.int64], start: int, goal: int, w: int) -> NDArray[np.int64]:
    n = 1
    here = goal
    while here != start:
        here = before[here]
        if here < 0:
            return np.empty((0, 2), dtype=np.int64)
        n += 1
    path = np.empty((n, 2), dtype=np.int64)
    here = goal
    for i in range(n - 1, -1, -1):
        path[i, 0] = here // w
        path[i, 1] = here % w
        here = before[here]
    return path
