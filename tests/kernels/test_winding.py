"""Winding numbers against the sum of the angles an outline turns through, seen from the point."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.kernels.winding import winding_numbers

WHOLE = st.integers(-5, 5)
RINGS = st.lists(st.lists(st.tuples(WHOLE, WHOLE), min_size=3, max_size=7), max_size=3)


def edges_of(rings):
    rows = [[*p, *q] for ring in rings for p, q in zip(ring, [*ring[1:], ring[0]], strict=True)]
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def winding_by_angles(points, edges):
    """The twin: the turn from each edge's start to its end, summed; a full turn is 2π."""
    total = []
    for x, y in points:
        before = np.arctan2(edges[:, 1] - y, edges[:, 0] - x)
        after = np.arctan2(edges[:, 3] - y, edges[:, 2] - x)
        turn = (after - before + np.pi) % (2 * np.pi) - np.pi
        total.append(round(turn.sum() / (2 * np.pi)))
    return np.array(total, dtype=np.int64)


@given(RINGS, st.lists(st.tuples(WHOLE, WHOLE), max_size=5))
def test_matches_the_twin(rings, places):
    # Shifted by amounts that no line through whole points with small slopes can meet.
    points = np.array(places, dtype=np.float64).reshape(-1, 2) + np.array([0.3137, 0.2719])
    edges = edges_of(rings)
    assert (winding_numbers(points, edges) == winding_by_angles(points, edges)).all()


def test_a_ring_walked_twice_winds_twice():
    square = [(0, 0), (4, 0), (4, 4), (0, 4)]
    inside = np.array([[2.0, 2.0], [9.0, 2.0]])
    assert winding_numbers(inside, edges_of([square, square])).tolist() == [2, 0]
    assert winding_numbers(inside, edges_of([square, square[::-1]])).tolist() == [0, 0]


def test_nothing_to_wind():
    assert winding_numbers(np.zeros((0, 2)), np.zeros((0, 4))).shape == (0,)
    assert winding_numbers(np.ones((2, 2)), np.zeros((0, 4))).tolist() == [0, 0]
