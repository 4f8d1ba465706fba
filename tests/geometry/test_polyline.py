"""Lines resampled, split, simplified and moved aside, against shapely where it can do the same."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.geometry.polyline import (
    arc_lengths,
    drop_near_points,
    offset_sideways,
    points_at,
    polyline_length,
    run_along,
    split_long_steps,
)

LINES = st.lists(
    st.tuples(st.integers(-200, 200), st.integers(-200, 200)), min_size=2, max_size=12, unique=True
).map(lambda pts: np.array(pts) / 8)


@given(LINES)
def test_lengths_and_places_as_shapely_has_them(xy):
    line = shapely.LineString(xy)
    assert polyline_length(xy) == pytest.approx(line.length)
    at = np.linspace(0, line.length, 7)
    expected = [line.interpolate(a).coords[0] for a in at]
    np.testing.assert_allclose(points_at(xy, at), expected, atol=1e-9)
    assert arc_lengths(xy)[0] == 0.0


@given(LINES, st.floats(0.5, 9))
def test_split_steps_lie_on_the_line_and_keep_its_points(xy, longest):
    split = split_long_steps(xy, longest)
    steps = np.hypot(*np.diff(split, axis=0).T)
    assert steps.max() <= longest * (1 + 1e-6)
    assert polyline_length(split) == pytest.approx(polyline_length(xy))
    kept = {tuple(p) for p in split.tolist()}
    assert all(tuple(p) in kept for p in xy.tolist())


@given(LINES, st.floats(0.05, 2))
def test_a_run_stays_within_the_sag(xy, sag):
    run = run_along(xy, 3.0, sag_mm=sag)
    np.testing.assert_array_equal(run[[0, -1]], xy[[0, -1]])
    assert np.hypot(*np.diff(run, axis=0).T).max() <= 3.0 + 1e-6
    line = shapely.LineString(run)
    assert max(line.distance(shapely.Point(p)) for p in xy) <= sag + 1e-9


@given(LINES, st.floats(0.1, 5))
def test_dropped_points_leave_no_short_step_but_the_last(xy, shortest):
    kept = drop_near_points(xy, shortest)
    steps = np.hypot(*np.diff(kept, axis=0).T)
    assert (steps[:-1] >= shortest).all()
    np.testing.assert_array_equal(kept[[0, -1]], xy[[0, -1]])


def test_right_of_a_line_going_up_is_plus_x():
    up = np.array([[0.0, 0.0], [0.0, 1.0], [0.0, 2.0]])
    np.testing.assert_allclose(offset_sideways(up, np.full(3, 0.5))[:, 0], 0.5)


def test_single_points_pass_through():
    one = np.array([[1.0, 2.0]])
    assert split_long_steps(one, 1.0).tolist() == [[1.0, 2.0]]
    assert run_along(one, 1.0).tolist() == [[1.0, 2.0]]
    assert drop_near_points(one, 1.0).tolist() == [[1.0, 2.0]]
