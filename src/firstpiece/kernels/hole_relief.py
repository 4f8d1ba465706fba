"""What it costs to leave out a needle hole, or two, or to sew a stitch shorter.

Input: penetrations as a chain and the thread between them. Output: for one penetration the area of
cloth or of other thread that each change would lay open or cover. Whether a change is worth it is
for the caller to say.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

from firstpiece.kernels.thread_index import ThreadIndex, add_piece, open_area

if TYPE_CHECKING:
    from numpy.typing import NDArray

# What may be done with a penetration: left out, left out with the next one, drawn in by a share.
LEAVE_OUT, LEAVE_OUT_TWO, DRAW_IN = 0, 1, 2
DRAWN_SHARES = (0.25, 0.4, 0.55, 0.7)
N_WAYS = DRAW_IN + len(DRAWN_SHARES)
# A change no worse than this is not looked for beyond it.
IMPOSSIBLE = 1e9


class HoleChain(NamedTuple):
    """Penetrations with what comes before and after each.

    ``xy_mm`` (n, 2) float64 [mm]; ``before`` and ``after`` (n,) int64, -1 at the ends of a leg;
    ``piece`` (n,) int64 the index's piece that ends at each, -1 for none; ``since`` (n,) int64 the
    first place in the sewing order whose thread may stand in; ``fixed`` (n,) bool.
    """

    xy_mm: NDArray[np.float64]
    before: NDArray[np.int64]
    after: NDArray[np.int64]
    piece: NDArray[np.int64]
    since: NDArray[np.int64]
    fixed: NDArray[np.bool_]


class ChangeLimits(NamedTuple):
    """Shortest and longest new stitch [mm] and the most area [mm²] that a change may cost."""

    shortest_mm: float
    longest_mm: float
    most_mm2: float


@njit(cache=True)
def drawn_in(chain: HoleChain, i: int, share: float) -> tuple[float, float]:
    """Return where a penetration comes to lie that is drawn in towards its neighbours' middle."""
    a, b = chain.before[i], chain.after[i]
    x = 0.5 * (chain.xy_mm[a, 0] + chain.xy_mm[b, 0])
    y = 0.5 * (chain.xy_mm[a, 1] + chain.xy_mm[b, 1])
    return (
        chain.xy_mm[i, 0] + share * (x - chain.xy_mm[i, 0]),
        chain.xy_mm[i, 1] + share * (y - chain.xy_mm[i, 1]),
    )


@njit(cache=True)
def _new_line(chain: HoleChain, i: int, way: int) -> tuple[NDArray[np.float64], int, int]:
    """Return the line after a change, (2 or 3, 2), and the penetrations at its two ends."""
    a, b = chain.before[i], chain.after[i]
    if way == LEAVE_OUT_TWO and b >= 0:
        b = chain.after[b] if not chain.fixed[b] else -1
    n = 2 if way < DRAW_IN else 3
    line = np.empty((n, 2))
    if a < 0 or b < 0:
        return line, -1, -1
    line[0], line[n - 1] = chain.xy_mm[a], chain.xy_mm[b]
    if n == 3:
        line[1, 0], line[1, 1] = drawn_in(chain, i, DRAWN_SHARES[way - DRAW_IN])
    return line, a, b


@njit(cache=True)
def _pieces_between(chain: HoleChain, a: int, b: int) -> NDArray[np.int64]:
    """Return the index's pieces from one penetration to a later one."""
    count = 0
    i = b
    while i != a:
        count += 1
        i = chain.before[i]
    pieces = np.empty(count, np.int64)
    i = b
    for k in range(count):
        pieces[k] = chain.piece[i]
        i = chain.before[i]
    return pieces


@njit(cache=True)
def _ribbons(line: NDArray[np.float64]) -> NDArray[np.float64]:
    ribbons = np.empty((len(line) - 1, 4))
    for k in range(len(line) - 1):
        ribbons[k, 0], ribbons[k, 1] = line[k, 0], line[k, 1]
        ribbons[k, 2], ribbons[k, 3] = line[k + 1, 0], line[k + 1, 1]
    return ribbons


@njit(cache=True)
def change_cost(
    index: ThreadIndex, chain: HoleChain, i: int, way: int, limits: ChangeLimits
) -> float:
    """Return what a change at a penetration costs.

    Parameters
    ----------
    index : ThreadIndex
    chain : HoleChain
    i : int
        A penetration of the chain.
    way : int
        ``LEAVE_OUT``, ``LEAVE_OUT_TWO``, or ``DRAW_IN`` and the place of a share.
    limits : ChangeLimits

    Returns
    -------
    float [mm²]
        Area laid open, plus area newly covered; ``IMPOSSIBLE`` where it cannot be done or costs
        more than the limit.
    """
    if chain.fixed[i]:
        return IMPOSSIBLE
    line, a, b = _new_line(chain, i, way)
    if a < 0:
        return IMPOSSIBLE
    for k in range(len(line) - 1):
        step = math.hypot(line[k + 1, 0] - line[k, 0], line[k + 1, 1] - line[k, 1])
        if not limits.shortest_mm <= step <= limits.longest_mm:
            return IMPOSSIBLE
    old = _pieces_between(chain, a, b)
    ribbons = _ribbons(line)
    gone = np.empty((len(old), 4))
    for k in range(len(old)):
        gone[k] = index.ends_mm[old[k]]
    since = chain.since[i]
    cost = open_area(index, gone, since, old, ribbons, limits.most_mm2)
    if cost <= limits.most_mm2:
        none, nothing = np.empty(0, np.int64), np.empty((0, 4))
        cost += open_area(index, ribbons, since, none, nothing, limits.most_mm2)
    return cost if cost <= limits.most_mm2 else IMPOSSIBLE


@njit(cache=True)
def change_costs(
    index: ThreadIndex, chain: HoleChain, i: int, n_ways: int, limits: ChangeLimits
) -> NDArray[np.float64]:
    """Return `change_cost` of the first ``n_ways`` ways, (n_ways,) float64 [mm²]."""
    costs = np.empty(n_ways)
    for way in range(n_ways):
        costs[way] = change_cost(index, chain, i, way, limits)
    return costs


@njit(cache=True)
def change_hole(index: ThreadIndex, chain: HoleChain, i: int, way: int) -> int:
    """Carry out a change that ``change_costs`` found possible; -1 when the index is full.

    Parameters
    ----------
    index : ThreadIndex
    chain : HoleChain
        Changed in place; what is left out has neither ``before`` nor ``after``.
    i, way : int

    Returns
    -------
    int
        The number of penetrations left out.
    """
    line, a, b = _new_line(chain, i, way)
    if index.used[1] + 2 > len(index.when):
        return -1
    for piece in _pieces_between(chain, a, b):
        index.alive[piece] = False
    left_out = 0
    if way < DRAW_IN:
        k = chain.after[a]
        while k != b:
            following = chain.after[k]
            chain.before[k], chain.after[k] = -1, -1
            left_out += 1
            k = following
        chain.after[a], chain.before[b] = b, a
        ribbons = _ribbons(line)
        chain.piece[b] = add_piece(index, ribbons[0], b)
    else:
        chain.xy_mm[i] = line[1]
        ribbons = _ribbons(line)
        chain.piece[i] = add_piece(index, ribbons[0], i)
        chain.piece[b] = add_piece(index, ribbons[1], b)
    return left_out
