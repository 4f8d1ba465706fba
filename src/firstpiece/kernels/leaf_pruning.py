"""Leaf pruning and chain walking on the dual graph of a triangulation.

In: neighbour tables of triangles with a weight on each shared edge. Out: which edges stay, and
the runs of edges between triangles that are ends or junctions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def prune_leaves(
    neighbors: NDArray[np.int32],
    candidate: NDArray[np.bool_],
    weight: NDArray[np.float64],
    threshold: float,
) -> NDArray[np.bool_]:
    """Return the edges left after light edges were taken off again and again from the leaves.

    Parameters
    ----------
    neighbors : (t, 3) int32
        Triangle across the edge opposite corner k, or -1.
    candidate : (t, 3) bool
        Edges of the graph; symmetric.
    weight : (t, 3) float64
        Symmetric; an edge under ``threshold`` goes once one of its triangles is a leaf.
    threshold : float

    Returns
    -------
    (t, 3) bool
        Symmetric. An inner edge stays whatever its weight, so the graph stays connected.
    """
    n = neighbors.shape[0]
    kept = candidate.copy()
    degree = np.zeros(n, np.int64)
    stack = np.empty(max(n, 1), np.int64)
    top = 0
    for t in range(n):
        degree[t] = int(kept[t, 0]) + int(kept[t, 1]) + int(kept[t, 2])
        if degree[t] == 1:
            stack[top] = t
            top += 1
    while top > 0:
        top -= 1
        t = stack[top]
        if degree[t] != 1:
            continue
        k = 0 if kept[t, 0] else (1 if kept[t, 1] else 2)
        if weight[t, k] >= threshold:
            continue
        other = neighbors[t, k]
        kept[t, k] = False
        degree[t] = 0
        for j in range(3):
            if neighbors[other, j] == t and kept[other, j]:
                kept[other, j] = False
                degree[other] -= 1
        if degree[other] == 1:
            stack[top] = other
            top += 1
    return kept


@njit(cache=True)
def _walk_one(
    neighbors: NDArray[np.int32],
    kept: NDArray[np.bool_],
    used: NDArray[np.bool_],
    steps: NDArray[np.int64],
    m: int,
) -> int:
    """Follow the run that begins with ``steps[m]``; return the first free row after it."""
    t0 = steps[m, 0]
    while True:
        t = steps[m, 0]
        k = steps[m, 1]
        m += 1
        used[t, k] = True
        other = neighbors[t, k]
        back = 0
        for j in range(3):
            if neighbors[other, j] == t:
                back = j
        used[other, back] = True
        ways = int(kept[other, 0]) + int(kept[other, 1]) + int(kept[other, 2])
        if ways != 2 or other == t0:
            return m
        steps[m, 0] = other
        for j in range(3):
            if j != back and kept[other, j]:
                steps[m, 1] = j


@njit(cache=True)
def walk_chains(
    neighbors: NDArray[np.int32], kept: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Return the runs of kept edges between triangles whose degree is not 2.

    Parameters
    ----------
    neighbors : (t, 3) int32
    kept : (t, 3) bool

    Returns
    -------
    steps : (m, 2) int64
        Triangle and local edge it is left by, run after run.
    starts : (c + 1,) int64
        Run i is ``steps[starts[i]:starts[i + 1]]``.
    is_closed : (c,) bool
        True for a run that comes back to its first triangle without an end or junction.
    """
    n = neighbors.shape[0]
    total = 0
    for t in range(n):
        total += int(kept[t, 0]) + int(kept[t, 1]) + int(kept[t, 2])
    used = np.zeros((n, 3), np.bool_)
    steps = np.empty((total // 2 + 1, 2), np.int64)
    starts = np.zeros(total // 2 + 1, np.int64)
    closed = np.zeros(total // 2, np.bool_)
    m = 0
    c = 0
    # First round: runs from ends and junctions; second: what is left are plain cycles.
    for edge in range(6 * n):
        t = (edge // 3) % n
        k = edge % 3
        is_cycle = edge >= 3 * n
        ways = int(kept[t, 0]) + int(kept[t, 1]) + int(kept[t, 2])
        if not kept[t, k] or used[t, k] or (not is_cycle and ways == 2):
            continue
        steps[m, 0] = t
        steps[m, 1] = k
        m = _walk_one(neighbors, kept, used, steps, m)
        closed[c] = is_cycle
        c += 1
        starts[c] = m
    return steps[:m], starts[: c + 1], closed[:c]
