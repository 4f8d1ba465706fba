"""Whittaker smoothing against its normal equations solved directly; corners of known outlines."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from firstpiece.geometry.smoothing import find_corners, sharpen_corners, smooth_arc, smooth_within

ARCS = st.integers(3, 30).flatmap(
    lambda n: arrays(np.float64, (n, 2), elements=st.floats(-50, 50).map(lambda v: round(v, 3)))
)


def solve_loop(points, strength):
    """The twin: (I + λ·DᵀD)·z = y with D the second differences round a loop (Eilers 2003)."""
    n = len(points)
    difference = np.zeros((n, n))
    for i in range(n):
        difference[i, i - 1] += 1.0
        difference[i, i] -= 2.0
        difference[i, (i + 1) % n] += 1.0
    return np.linalg.solve(np.eye(n) + strength * difference.T @ difference, points)


@given(ARCS, st.sampled_from([0.0, 1.0, 30.0, 1e4]))
def test_a_loop_solves_the_normal_equations(points, strength):
    ours = smooth_arc(points, np.array([strength]), is_closed=True)[0]
    assert ours == pytest.approx(solve_loop(points, strength), abs=1e-6)


@given(ARCS, st.sampled_from([0.0, 5.0, 1e5]))
def test_an_open_arc_keeps_its_ends(points, strength):
    smooth = smooth_arc(points, np.array([strength]), is_closed=False)[0]
    assert (smooth[[0, -1]] == points[[0, -1]]).all()
    if strength == 0.0:
        assert smooth == pytest.approx(points, abs=1e-9)


@given(st.integers(3, 40), st.floats(-3, 3), st.floats(-3, 3))
def test_a_straight_arc_stays(n, dx, dy):
    line = np.outer(np.arange(n, dtype=float), [dx, dy])
    assert smooth_arc(line, np.array([1e6]), is_closed=False)[0] == pytest.approx(line, abs=1e-7)


@given(ARCS, st.floats(0.05, 5.0), st.booleans())
def test_movement_stays_within_the_limit(points, limit, is_closed):
    smooth = smooth_within(
        points, np.array([0.0, 1.0, 100.0, 1e4]), limit=limit, is_closed=is_closed
    )
    assert np.hypot(*(smooth - points).T).max() <= limit + 1e-9


def test_wobble_on_a_circle_is_removed():
    t = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    circle = 100.0 * np.column_stack([np.cos(t), np.sin(t)])
    rough = circle * (1.0 + 0.005 * np.sin(60 * t))[:, None]
    smooth = smooth_within(rough, np.geomspace(1, 1e4, 9), limit=0.6, is_closed=True)
    error = np.abs(np.hypot(*smooth.T) - 100.0).max()
    assert error < 0.1 < np.abs(np.hypot(*rough.T) - 100.0).max()


def outline(corners, step=1.0):
    """Evenly spaced points along a closed outline."""
    pieces = []
    for p, q in zip(corners, [*corners[1:], corners[0]], strict=True):
        n = round(np.hypot(q[0] - p[0], q[1] - p[1]) / step)
        pieces.append(np.linspace(p, q, n, endpoint=False))
    return np.vstack(pieces)


def test_a_square_has_four_corners_where_they_are():
    square = outline([(0, 0), (40, 0), (40, 40), (0, 40)])
    found = find_corners(square, reach=6, least_turn_rad=np.radians(50), is_closed=True)
    assert found.tolist() == [0, 40, 80, 120]


@pytest.mark.parametrize("radius", [8.0, 20.0, 100.0])
def test_a_circle_has_no_corner(radius):
    t = np.arange(round(2 * np.pi * radius)) / radius
    circle = radius * np.column_stack([np.cos(t), np.sin(t)])
    found = find_corners(circle, reach=6, least_turn_rad=np.radians(50), is_closed=True)
    assert len(found) == 0


@pytest.mark.parametrize("n", [0, 1, 2, 12])
def test_short_arcs(n):
    points = np.column_stack([np.arange(n), np.arange(n) % 2]).astype(float)
    assert smooth_arc(points, np.array([3.0]), is_closed=False).shape == (1, n, 2)
    assert len(find_corners(points, reach=6, least_turn_rad=0.5, is_closed=False)) == 0


def test_a_blunted_corner_is_put_back():
    square = outline([(0, 0), (40, 0), (40, 40), (0, 40)])
    blunt = square.copy()
    blunt[[0, 40, 80, 120]] = [(0.4, 0.4), (39.6, 0.4), (39.6, 39.6), (0.4, 39.6)]
    corners = np.array([0, 40, 80, 120])
    sharp = sharpen_corners(blunt, corners, reach=6, furthest=1.5, is_closed=True)
    assert sharp == pytest.approx(square, abs=1e-9)
    held = sharpen_corners(blunt, corners, reach=6, furthest=0.2, is_closed=True)
    assert (held == blunt).all()


@pytest.mark.parametrize("radius", [12.0, 30.0, 100.0])
def test_round_outlines_do_not_shrink(radius):
    t = np.arange(round(2 * np.pi * radius)) / radius
    circle = radius * np.column_stack([np.cos(t), np.sin(t)])
    smooth = smooth_within(circle, np.geomspace(0.5, 1e5, 12), limit=3.0, is_closed=True)
    # Not even where a movement of 3 would be allowed.
    assert np.abs(np.hypot(*smooth.T) - radius).max() < 0.3
