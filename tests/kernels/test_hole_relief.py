"""What a changed stitch lays open, against polygons cut exactly, and on odd input."""

import numpy as np
import pytest
import shapely

from firstpiece.kernels.hole_relief import (
    DRAW_IN,
    DRAWN_SHARES,
    IMPOSSIBLE,
    LEAVE_OUT,
    LEAVE_OUT_TWO,
    ChangeLimits,
    HoleChain,
    change_cost,
    change_costs,
    change_hole,
)
from firstpiece.kernels.thread_index import make_index, open_area

HALF = 0.2
FREE = ChangeLimits(0.0, 50.0, 1e6)


def ribbon(ends):
    return shapely.LineString(np.reshape(ends, (2, 2))).buffer(HALF)


def flat(ends):
    return shapely.LineString(np.reshape(ends, (2, 2))).buffer(HALF, cap_style="flat")


def open_area_slowly(ends, when, ribbons, since, skip, beside):
    """The twin: ribbons as polygons, less all that lies over them."""
    over = [ribbon(e) for k, e in enumerate(ends) if when[k] >= since and k not in skip]
    over += [ribbon(e) for e in beside]
    return sum(flat(r).difference(shapely.union_all(over)).area for r in ribbons)


def chain_of(xy, *, since=0):
    n = len(xy)
    before, after = np.arange(-1, n - 1), np.append(np.arange(1, n), -1)
    index = make_index(np.hstack([xy[:-1], xy[1:]]), np.arange(1, n), HALF, 50)
    piece = np.arange(-1, n - 1)
    return index, HoleChain(
        xy.copy(), before, after, piece, np.full(n, since), np.zeros(n, dtype=bool)
    )


def random_walk(seed, n=40):
    return np.random.default_rng(seed).uniform(-3, 3, (n, 2))


@pytest.mark.parametrize("seed", range(6))
def test_open_area_is_that_of_the_polygons(seed):
    rng = np.random.default_rng(seed)
    ends, when = rng.uniform(-3, 3, (12, 4)), rng.permutation(12)
    ribbons, beside = rng.uniform(-4, 4, (3, 4)), rng.uniform(-4, 4, (2, 4))
    skip = np.array([3, 5])
    index = make_index(ends, when, HALF, 0)
    found = open_area(index, ribbons, 4, skip, beside, 1e6)
    assert found == pytest.approx(open_area_slowly(ends, when, ribbons, 4, skip, beside), abs=0.12)


def test_the_sum_stops_at_its_limit():
    index = make_index(np.empty((0, 4)), np.empty(0, np.int64), HALF, 0)
    long = np.array([[0.0, 0.0, 50.0, 0.0]])
    none, nothing = np.empty(0, np.int64), np.empty((0, 4))
    assert open_area(index, long, 0, none, nothing, 1e6) == pytest.approx(20.0)
    assert open_area(index, long, 0, none, nothing, 0.5) < 0.6
    assert open_area(index, nothing, 0, none, nothing, 0.5) == 0.0


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("way", range(DRAW_IN + len(DRAWN_SHARES)))
def test_a_change_costs_what_it_lays_open_and_what_it_newly_covers(seed, way):
    xy = random_walk(seed)
    index, chain = chain_of(xy)
    i, last = 7, 9 if way == LEAVE_OUT_TWO else 8
    new = xy[[6, last]] if way < DRAW_IN else np.vstack([xy[6], xy[7], xy[8]])
    if way >= DRAW_IN:
        new[1] += DRAWN_SHARES[way - DRAW_IN] * ((xy[6] + xy[8]) / 2 - xy[7])
    ends = np.hstack([xy[:-1], xy[1:]])
    old = np.arange(6, last)
    fresh = np.hstack([new[:-1], new[1:]])
    laid_open = open_area_slowly(ends, np.arange(39), ends[old], 0, set(old), fresh)
    covered = open_area_slowly(ends, np.arange(39), fresh, 0, set(), [])
    assert change_cost(index, chain, i, way, FREE) == pytest.approx(laid_open + covered, abs=0.12)


def test_ends_fixed_holes_and_steps_out_of_range_cannot_change():
    index, chain = chain_of(np.array([[0.0, 0], [1, 0], [2, 0], [3, 0]]))
    assert change_costs(index, chain, 0, 2, FREE).tolist() == [IMPOSSIBLE] * 2
    assert change_costs(index, chain, 3, 2, FREE).tolist() == [IMPOSSIBLE] * 2
    assert change_cost(index, chain, 1, LEAVE_OUT, FREE) == 0.0
    assert change_cost(index, chain, 1, LEAVE_OUT, ChangeLimits(0.0, 1.5, 1.0)) == IMPOSSIBLE
    chain.fixed[1] = True
    assert change_cost(index, chain, 1, LEAVE_OUT, FREE) == IMPOSSIBLE


def test_leaving_holes_out_joins_their_neighbours():
    index, chain = chain_of(np.array([[0.0, 0], [1, 0], [2, 0], [3, 0], [4, 0]]))
    assert change_hole(index, chain, 1, LEAVE_OUT_TWO) == 2
    assert (chain.after[0], chain.before[3]) == (3, 0)
    assert change_hole(index, chain, 3, LEAVE_OUT) == 1
    assert (chain.after[0], chain.before[4]) == (4, 0)
    alive = index.ends_mm[: index.used[1]][index.alive[: index.used[1]]]
    assert alive.tolist() == [[0.0, 0.0, 4.0, 0.0]]


def test_a_full_index_refuses_the_change():
    xy = np.array([[0.0, 0], [1, 0], [2, 0]])
    _, chain = chain_of(xy)
    full = make_index(np.hstack([xy[:-1], xy[1:]]), np.arange(1, 3), HALF, 0)
    assert change_hole(full, chain, 1, LEAVE_OUT) == -1
    assert chain.after.tolist() == [1, 2, -1]
