"""Which cones to keep on the needles: keep the cone needed soonest, and the best order of jobs.

A job needs a set of cones (rows of a 0/1 table); a machine holds ``capacity`` of them. Loading
the first magazine is free; every cone put on later is one change.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def _next_uses(needs: NDArray[np.uint8], order: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return (k + 1, m): the position from i on at which cone j is needed next, or k + 1."""
    k, m = order.size, needs.shape[1]
    next_use = np.full((k + 1, m), k + 1, dtype=np.int64)
    for i in range(k - 1, -1, -1):
        for j in range(m):
            next_use[i, j] = i if needs[order[i], j] else next_use[i + 1, j]
    return next_use


@njit(cache=True)
def _pick(wanted: NDArray[np.uint8], state: int, uses: NDArray[np.int64], sign: int) -> int:
    """Return the cone with this state and the soonest (sign 1) or latest (-1) use, or -1."""
    best = -1
    for j in range(wanted.size):
        if wanted[j] == state and (best < 0 or sign * uses[j] < sign * uses[best]):
            best = j
    return best


@njit(cache=True)
def load_in_order(
    needs: NDArray[np.uint8], order: NDArray[np.int64], capacity: int
) -> NDArray[np.uint8]:
    """Return which cones are on the machine during each job, with the fewest changes.

    Parameters
    ----------
    needs : (n, m) uint8
        1 where job i needs cone j; no row sums to more than ``capacity``.
    order : (k,) int64
        The jobs sewn, in order.
    capacity : int
        Needles on the machine.

    Returns
    -------
    (k, m) uint8
        1 where the cone is loaded while the job at this position is sewn.

    Notes
    -----
    Keep the cone needed soonest: optimal for a fixed order. The first magazine is filled with the
    cones needed first.

    References
    ----------
    C. S. Tang and E. V. Denardo, "Models arising from a flexible manufacturing machine, part I",
    Operations Research 36 (1988) 767–777.
    """
    k, m = order.size, needs.shape[1]
    next_use = _next_uses(needs, order)
    loaded = np.zeros((k, m), dtype=np.uint8)
    now = np.zeros(m, dtype=np.uint8)
    for _ in range(min(capacity, m)):
        first = _pick(now, 0, next_use[0], 1)
        if next_use[0, first] > k:
            break
        now[first] = 1
    for i in range(k):
        now |= needs[order[i]]
        while now.sum() > capacity:
            now[_pick(now, 1, next_use[i], -1)] = 0
        loaded[i] = now
    return loaded


@njit(cache=True)
def count_changes(loaded: NDArray[np.uint8]) -> int:
    """Return how many cones are put on after the first magazine, from the (k, m) loading table."""
    changes = 0
    for i in range(1, loaded.shape[0]):
        for j in range(loaded.shape[1]):
            if loaded[i, j] and not loaded[i - 1, j]:
                changes += 1
    return changes


@njit(cache=True)
def _unavoidable(needs: NDArray[np.uint8], used: NDArray[np.uint8], capacity: int) -> int:
    """Return changes still to come: cones only later jobs need, less slots still empty."""
    early, new = 0, 0
    for j in range(needs.shape[1]):
        in_early, in_rest = False, False
        for i in range(needs.shape[0]):
            if needs[i, j]:
                in_early = in_early or used[i] > 0
                in_rest = in_rest or used[i] == 0
        early += 1 if in_early else 0
        new += 1 if in_rest and not in_early else 0
    return max(0, new - max(0, capacity - early))


@njit(cache=True)
def _append_job(
    job: NDArray[np.uint8],
    at: int,
    last_use: NDArray[np.int64],
    free: NDArray[np.int64],
    capacity: int,
) -> int:
    """Sew ``job`` at position ``at``; update idle slots and last uses; return the changes it costs.

    A cone stays on from its last use (or from the start, -1) when every job between leaves a slot
    free. Taking the waits in the order in which they end, shortest first, keeps most of them; later
    jobs never undo the choice, so the cost of a longer order is found by adding to a shorter one.
    """
    free[at] = capacity - job.sum()
    changes = 0
    for last in range(at - 1, -2, -1):
        for j in range(job.size):
            if not job[j] or last_use[j] != last:
                continue
            stays = True
            for p in range(last + 1, at):
                if free[p] <= 0:
                    stays = False
                    break
            if stays:
                free[last + 1 : at] -= 1
            else:
                changes += 1
    for j in range(job.size):
        if job[j]:
            last_use[j] = at
    return changes


@njit(cache=True)
def search_best_order(
    needs: NDArray[np.uint8], capacity: int, start: NDArray[np.int64], most_nodes: int
) -> tuple[NDArray[np.int64], int, bool]:
    """Return the order of jobs with the fewest changes, its changes, and whether that is proved.

    Parameters
    ----------
    needs : (n, m) uint8
    capacity : int
    start : (n,) int64
        A first order; the answer is never worse.
    most_nodes : int
        Partial orders to look at before giving up the proof.

    Notes
    -----
    Depth-first branch and bound. A partial order costs at least what its own jobs cost with the
    best loading, plus one change for each cone that only later jobs need and no empty slot waits
    for: a slot given to it from the start is a slot less for the early jobs, which costs the same.
    An order and its reverse cost the same, so one of each pair is skipped.
    """
    n, m = needs.shape
    best = start.copy()
    best_cost = count_changes(load_in_order(needs, start, capacity))
    used = np.zeros(n, dtype=np.uint8)
    floor = _unavoidable(needs, used, capacity)
    order = np.zeros(n, dtype=np.int64)
    choice = np.zeros(n + 1, dtype=np.int64)
    cost = np.zeros(n + 1, dtype=np.int64)
    last_use = np.full((n + 1, m), -1, dtype=np.int64)
    free = np.zeros((n + 1, n), dtype=np.int64)
    depth, nodes = 0, 0
    while depth >= 0 and best_cost > floor:
        if choice[depth] > 0:
            used[choice[depth] - 1] = 0
        job = choice[depth]
        while job < n and used[job]:
            job += 1
        if job >= n:
            choice[depth] = 0
            depth -= 1
            continue
        nodes += 1
        if nodes > most_nodes:
            return best, best_cost, False
        choice[depth] = job + 1
        used[job] = 1
        order[depth] = job
        last_use[depth + 1] = last_use[depth]
        free[depth + 1] = free[depth]
        step = _append_job(needs[job], depth, last_use[depth + 1], free[depth + 1], capacity)
        cost[depth + 1] = cost[depth] + step
        if cost[depth + 1] + _unavoidable(needs, used, capacity) >= best_cost:
            continue
        if depth < n - 1:
            depth += 1
            choice[depth] = 0
        elif order[0] < order[depth]:
            best_cost = cost[depth + 1]
            best[:] = order
    return best, best_cost, True
