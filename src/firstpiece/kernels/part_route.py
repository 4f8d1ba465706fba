"""A short round over parts that each have two ends: who follows whom, and which end first.

Input: distances between all ends, neighbours of each end, a first round. Output: a better one, by
2-opt and Or-opt over neighbour lists with local double bridges that are undone when they lose.

The round is an array of ends; the two ends of a part stand side by side, at an even and an odd
place. End ``2 k`` and ``2 k + 1`` belong to part ``k``. Nothing is left to chance: the kicks follow
a fixed congruential sequence.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class _Round(NamedTuple):
    """The round being improved: ``state`` holds queue head, queue length, journal length."""

    distance: Floats
    near: Ints
    tour: Ints
    pos: Ints
    queue: Ints
    queued: NDArray[np.bool_]
    journal: Ints
    state: Ints
    work: Ints


_EPS = 1e-7
_LONGEST_MOVED = 3
_LONGEST_KICK = 25
_JOURNAL = 65536


@njit(cache=True)
def route_length(distance: Floats, tour: Ints) -> float:
    """Return the sum of the links between parts, closed.

    Parameters
    ----------
    distance : (2 n, 2 n) float64
    tour : (2 n,) int64

    Returns
    -------
    float
        In the unit of ``distance``.
    """
    n = tour.shape[0]
    total = 0.0
    for i in range(1, n, 2):
        total += distance[tour[i], tour[(i + 1) % n]]
    return total


@njit(cache=True)
def nearest_part_next(distance: Floats) -> Ints:
    """Return the round that starts with part 0 and always goes to the nearest end left.

    Parameters
    ----------
    distance : (2 n, 2 n) float64

    Returns
    -------
    (2 n,) int64
    """
    n = distance.shape[0]
    tour = np.zeros(n, dtype=np.int64)
    seen = np.zeros(n, dtype=np.bool_)
    here = 0
    for i in range(0, n, 2):
        if i > 0:
            best = -1
            for j in range(n):
                if not seen[j] and (best < 0 or distance[here, j] < distance[here, best]):
                    best = j
        else:
            best = 0
        tour[i], tour[i + 1] = best, best ^ 1
        seen[best] = True
        seen[best ^ 1] = True
        here = best ^ 1
    return tour


@njit(cache=True)
def improve_route(distance: Floats, near: Ints, tour: Ints, kicks: int) -> Ints:
    """Return a round no longer than ``tour``.

    Parameters
    ----------
    distance : (2 n, 2 n) float64
        Symmetric; any unit.
    near : (2 n, k) int64
        Ends worth trying next to each end, nearest first; never of the same part.
    tour : (2 n,) int64
        As made by ``nearest_part_next``.
    kicks : int
        How many local double bridges are tried after the first descent.

    Returns
    -------
    (2 n,) int64

    References
    ----------
    Bentley 1992, Fast algorithms for geometric traveling salesman problems (neighbour lists);
    Martin, Otto & Felten 1991, Large-step Markov chains (double bridge).
    """
    n = tour.shape[0]
    tour = tour.copy()
    if n < 6:
        return tour
    pos = np.empty(n, dtype=np.int64)
    for i in range(n):
        pos[tour[i]] = i
    r = _Round(
        distance,
        near,
        tour,
        pos,
        np.empty(n, dtype=np.int64),
        np.zeros(n, dtype=np.bool_),
        np.empty((_JOURNAL, 2), dtype=np.int64),
        np.zeros(3, dtype=np.int64),
        np.full(6, -1, dtype=np.int64),
    )
    for i in range(n):
        _push(r, tour[i])
    _descend(r)
    chance = np.uint64(88172645463325252)
    for _ in range(kicks):
        r.state[2] = 0
        change, chance = _kick(r, chance)
        change += _descend(r)
        if change > 1e-9 and r.state[2] <= _JOURNAL:
            for k in range(r.state[2] - 1, -1, -1):
                _reverse(tour, pos, r.journal[k, 0], r.journal[k, 1])
    return tour


@njit(cache=True)
def _push(r: _Round, node: int) -> None:
    if not r.queued[node]:
        r.queued[node] = True
        r.queue[(r.state[0] + r.state[1]) % r.queue.shape[0]] = node
        r.state[1] += 1


@njit(cache=True)
def _link(tour: Ints, pos: Ints, node: int) -> int:
    """Return the end that the round goes to from this one outside its part."""
    n = tour.shape[0]
    p = pos[node]
    if p % 2 == 0:
        return int(tour[(p - 1) % n])
    return int(tour[(p + 1) % n])


@njit(cache=True)
def _reverse(tour: Ints, pos: Ints, first: int, last: int) -> None:
    """Turn round the stretch from place ``first`` forward to ``last``, or the rest if shorter."""
    n = tour.shape[0]
    length = (last - first) % n + 1
    if 2 * length > n:
        first, last = (last + 1) % n, (first - 1) % n
        length = n - length
    i, j = first, last
    for _ in range(length // 2):
        a, b = tour[i], tour[j]
        tour[i], tour[j] = b, a
        pos[b], pos[a] = i, j
        i = i + 1 if i + 1 < n else 0
        j = j - 1 if j > 0 else n - 1


@njit(cache=True)
def _relink(r: _Round, u1: int, v1: int, u2: int, v2: int) -> None:
    """Replace links (u1, v1), (u2, v2) by (u1, u2), (v1, v2)."""
    if (r.pos[u1] + 1) % r.tour.shape[0] == r.pos[v1]:
        first, last = r.pos[v1], r.pos[u2]
    else:
        first, last = r.pos[u1], r.pos[v2]
    _reverse(r.tour, r.pos, first, last)
    if r.state[2] < _JOURNAL:
        r.journal[r.state[2], 0] = first
        r.journal[r.state[2], 1] = last
    r.state[2] += 1


@njit(cache=True)
def _descend(r: _Round) -> float:
    """Improve until no end in the queue finds a better link; return the change of length."""
    change = 0.0
    while r.state[1] > 0:
        t1 = r.queue[r.state[0]]
        r.state[0] = (r.state[0] + 1) % r.queue.shape[0]
        r.state[1] -= 1
        r.queued[t1] = False
        gain = _improve_end(r, t1)
        while gain > 0.0:
            change -= gain
            for k in range(r.work.shape[0]):
                if r.work[k] >= 0:
                    _push(r, r.work[k])
            gain = _improve_end(r, t1)
    return change


@njit(cache=True)
def _improve_end(r: _Round, t1: int) -> float:
    """Make the first better move that links ``t1`` to a neighbour; return what it saves.

    ``work`` gains the ends whose links changed.
    """
    t2 = _link(r.tour, r.pos, t1)
    d12 = r.distance[t1, t2]
    for q in range(r.near.shape[1]):
        c = r.near[t1, q]
        d1c = r.distance[t1, c]
        if d1c >= d12:
            return 0.0
        if c == t2:
            continue
        if r.pos[c] % 2 == r.pos[t1] % 2:
            e = _link(r.tour, r.pos, c)
            gain = d12 + r.distance[c, e] - d1c - r.distance[t2, e]
            if gain > _EPS:
                r.work[:] = -1
                r.work[0], r.work[1], r.work[2], r.work[3] = t1, t2, c, e
                _relink(r, t1, t2, c, e)
                return gain
        gain = _move_stretch(r, t1, c)
        if gain > 0.0:
            return gain
        gain = _move_stretch(r, c, t1)
        if gain > 0.0:
            return gain
    return 0.0


@njit(cache=True)
def _move_stretch(r: _Round, s: int, x: int) -> float:
    """Move one to three parts that begin with end ``s`` beside end ``x`` when that saves length."""
    n = r.tour.shape[0]
    before = _link(r.tour, r.pos, s)
    y = _link(r.tour, r.pos, x)
    step = 1 if r.pos[s] % 2 == 0 else -1
    to_x = (r.pos[x] - r.pos[s]) * step % n
    to_y = (r.pos[y] - r.pos[s]) * step % n
    for k in range(1, _LONGEST_MOVED + 1):
        reach = 2 * k - 1
        if to_x <= reach or to_y <= reach or reach + 3 > n:
            return 0.0
        t = r.tour[(r.pos[s] + step * reach) % n]
        after = _link(r.tour, r.pos, t)
        if after == before:
            return 0.0
        gain = r.distance[before, s] + r.distance[t, after] + r.distance[x, y]
        gain -= r.distance[before, after] + r.distance[x, s] + r.distance[t, y]
        if gain > _EPS:
            _carry(r, (before, s, t, after), x, y)
            r.work[0], r.work[1], r.work[2], r.work[3] = before, s, t, after
            r.work[4], r.work[5] = x, y
            return gain
    return 0.0


@njit(cache=True)
def _carry(r: _Round, stretch: tuple[int, int, int, int], x: int, y: int) -> None:
    """Carry the stretch s..t, linked to ``before`` and ``after``, between x and y, s beside x."""
    before, s, t, after = stretch
    n = r.tour.shape[0]
    step = 1 if r.pos[s] % 2 == 0 else -1
    # Seen along s..t the round meets first the near and then the far end of the link x-y.
    x_first = (r.pos[x] - r.pos[s]) * step % n < (r.pos[y] - r.pos[s]) * step % n
    near, far = (x, y) if x_first else (y, x)
    _relink(r, before, s, near, far)
    _relink(r, before, near, after, t)
    # Now near-t and s-far are linked.
    if x_first:
        _relink(r, near, t, s, far)


@njit(cache=True)
def _kick(r: _Round, chance: np.uint64) -> tuple[float, np.uint64]:
    """Swap two neighbouring stretches of parts; return the change of length and the next state."""
    n = r.tour.shape[0]
    most = min(_LONGEST_KICK, (n // 2 - 1) // 2)
    cuts = np.zeros(3, dtype=np.int64)
    limits = (n // 2 - 2, most, most)
    for k in range(3):
        # Marsaglia 2003, Xorshift RNGs.
        chance ^= chance << np.uint64(13)
        chance ^= chance >> np.uint64(7)
        chance ^= chance << np.uint64(17)
        cuts[k] = np.int64(chance >> np.uint64(33)) % limits[k]
    first = 2 * cuts[0] + 2
    middle = first + 2 * cuts[1] + 2
    end = middle + 2 * cuts[2] + 2
    if end > n:
        return 0.0, chance
    p, q, a = r.tour[first - 1], r.tour[first], r.tour[middle - 1]
    b, c, d = r.tour[middle], r.tour[end - 1], r.tour[end % n]
    change = r.distance[p, b] + r.distance[c, q] + r.distance[a, d]
    change -= r.distance[p, q] + r.distance[a, b] + r.distance[c, d]
    _carry(r, (p, q, a, b), c, d)
    for node in (p, q, a, b, c, d):
        _push(r, node)
    return change, chance
