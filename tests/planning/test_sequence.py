"""The sewing order held against exhaustive search, and cases with known answers."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.model.stitch import SewFrom
from firstpiece.planning.color_blocks import fewest_blocks
from firstpiece.planning.precedence import (
    Place,
    Precedence,
    lies_under,
    touching_pairs,
    weigh_precedence,
)
from firstpiece.planning.sequence import sewing_order


def order_of(places, **wishes):
    pairs = touching_pairs([p.polygon for p in places])
    precedence = weigh_precedence(places, lies_under(places, pairs))
    return sewing_order(places, precedence, **wishes)


def changes(order, thread):
    return sum(thread[a] != thread[b] for a, b in itertools.pairwise(order))


@st.composite
def small_cases(draw):
    n = draw(st.integers(1, 7))
    thread = draw(st.lists(st.integers(0, 3), min_size=n, max_size=n))
    pairs = draw(st.sets(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), max_size=10))
    rank = draw(st.permutations(range(n)))
    before = [{u for u, o in pairs if o == k and rank[u] < rank[k]} for k in range(n)]
    return thread, before


@given(small_cases())
@settings(max_examples=150, deadline=None)
def test_the_number_of_blocks_is_the_least_of_all_orders(case):
    thread, before = case
    found = fewest_blocks(thread, before, [1.0] * len(thread))
    order = [k for block in found.blocks for k in block]
    assert sorted(order) == list(range(len(thread)))
    assert all(order.index(u) < order.index(k) for k in range(len(order)) for u in before[k])
    sound = (
        p
        for p in itertools.permutations(range(len(thread)))
        if all(p.index(u) < p.index(k) for k in range(len(p)) for u in before[k])
    )
    assert changes(order, thread) == min(changes(p, thread) for p in sound)
    assert found.is_proved


@given(small_cases(), st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), max_size=6))
@settings(max_examples=60, deadline=None)
def test_a_wish_costs_no_block(case, wished):
    thread, before = case
    wished = [(a, b) for a, b in wished if max(a, b) < len(thread) and a != b]
    plain = fewest_blocks(thread, before, [1.0] * len(thread))
    kept = fewest_blocks(thread, before, [1.0] * len(thread), wished=wished)
    assert len(kept.blocks) == len(plain.blocks)
    order = [k for block in kept.blocks for k in block]
    assert all(order.index(u) < order.index(k) for k in range(len(order)) for u in before[k])


def test_a_search_cut_short_says_how_far_its_proof_goes():
    """Many chains of mixed threads: too many sets to try them all."""
    generator = np.random.default_rng(7)
    thread = generator.integers(0, 12, 240).tolist()
    before = [set() if k % 8 == 0 else {k - 1} for k in range(240)]
    found = fewest_blocks(thread, before, [1.0] * 240)
    order = [k for block in found.blocks for k in block]
    assert sorted(order) == list(range(240))
    assert all(order.index(u) < order.index(k) for k in range(240) for u in before[k])
    assert 12 <= found.fewest <= len(found.blocks)


def test_thousands_of_specks_of_a_thread_are_one_item():
    thread = [0] + [k % 3 for k in range(3000)]
    found = fewest_blocks(thread, [set()] + [{0}] * 3000, [1.0] * 3001)
    assert found.is_proved
    assert len(found.blocks) == 3


def test_order_puts_a_narrow_ring_after_the_disc_and_keeps_threads_together():
    disc = shapely.Point(0, 0).buffer(10)
    ring = disc.buffer(1).difference(disc)
    far = shapely.Point(40, 0).buffer(10)
    found = order_of([Place(ring, 1), Place(disc, 0), Place(far, 0)])
    assert found.positions.index(0) == 2
    assert found.fewest_changes == 1


def test_thread_changes_match_the_longest_chain():
    """Nested squares of alternating threads need as many blocks as the chain is long."""
    boxes = [shapely.box(-r, -r, r, r) for r in (16, 12, 8, 4)]
    rings = [a.difference(b) for a, b in itertools.pairwise(boxes)] + [boxes[-1]]
    places = [Place(p, k % 2) for k, p in enumerate(rings)]
    before = lies_under(places, touching_pairs(rings))
    found = order_of(places)
    order = found.positions
    assert all(order.index(u) < order.index(k) for k, under in enumerate(before) for u in under)
    chain = [0] * len(places)
    for k in order:
        chain[k] = 1 + max((chain[u] for u in before[k]), default=0)
    assert changes(order, [p.thread for p in places]) == found.fewest_changes
    assert found.fewest_changes + 1 == max(2, *chain)


def test_filled_neighbours_give_way_to_a_saved_thread_change():
    """A pale plate, a dark plate on it and a pale one on that: all filled and wide."""
    boxes = [shapely.box(-r, -r, r, r) for r in (40, 24, 10)]
    areas = [boxes[0].difference(boxes[1]), boxes[1].difference(boxes[2]), boxes[2]]
    firm = [Place(a, k % 2) for k, a in enumerate(areas)]
    filled = [Place(a, k % 2, is_filled=True) for k, a in enumerate(areas)]
    assert order_of(filled).fewest_changes == 1
    assert changes(order_of(filled).positions, [0, 1, 0]) == 1
    assert order_of(firm).fewest_changes >= 1


def test_areas_that_wait_for_each_other_are_sewn_all_the_same():
    places = [Place(shapely.box(k, 0, k + 1, 1), k) for k in range(3)]
    rings = weigh_precedence(places, [{2}, {0}, {1}])
    assert sorted(sewing_order(places, rings).positions) == [0, 1, 2]


@pytest.mark.parametrize("sew_from", list(SewFrom))
def test_a_cap_is_sewn_from_the_rim_up_and_a_knit_from_the_centre(sew_from):
    spots = [shapely.Point(x, y).buffer(4) for x in range(-60, 61, 30) for y in range(0, 121, 30)]
    places = [Place(p, 0) for p in spots]
    order = sewing_order(places, Precedence([set() for _ in spots]), sew_from=sew_from).positions
    assert sorted(order) == list(range(25))
    at = np.array([spots[k].centroid.coords[0] for k in order])
    if sew_from is SewFrom.BOTTOM:
        assert at[0].tolist() == pytest.approx([0.0, 0.0], abs=1e-6)
        assert (np.diff((at[:, 1] + 4) // 25) >= 0).all()
    if sew_from is SewFrom.CENTRE:
        assert at[0].tolist() == pytest.approx([0.0, 60.0], abs=1e-6)
        assert (np.diff(np.hypot(at[:, 0], at[:, 1] - 60) // 25) >= 0).all()


def test_the_way_over_a_grid_of_spots_has_no_detour():
    """Spots in one row after another: the shortest open way is one step for every spot but one."""
    spots = [shapely.Point(10 * x, 10 * y).buffer(1) for x in range(7) for y in range(6)]
    order = order_of([Place(p, 0) for p in spots]).positions
    at = np.array([spots[k].centroid.coords[0] for k in order])
    assert np.hypot(*np.diff(at, axis=0).T).sum() == pytest.approx(41 * 10.0, rel=1e-6)
