import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.geometry.ladder import (
    between_rails,
    cut_even,
    fan_start,
    rail_lengths,
    rung_widths,
    smoothed,
    turned_round,
    without_repeats,
)

rails = st.lists(
    st.tuples(st.integers(-200, 200), st.integers(-200, 200)),
    min_size=2,
    max_size=12,
    unique=True,
).map(lambda nodes: np.array(nodes) / 10)


@settings(max_examples=60, deadline=None)
@given(rails, rails, st.floats(0.1, 5.0))
def test_smoothing_moves_rungs_along_the_rails_and_never_back(left, right, window):
    ladder = between_rails(left, right)
    result = smoothed(ladder, window_mm=window, step_mm=0.5)
    np.testing.assert_allclose(result[0], ladder[0], atol=1e-6)
    np.testing.assert_allclose(result[-1], ladder[-1], atol=1e-6)
    for side, rail in enumerate((left, right)):
        line = shapely.LineString(rail)
        assert shapely.distance(line, shapely.points(result[:, side])).max() < 1e-6


def test_a_smoothed_ladder_keeps_moving_forward():
    # One rail stands still at a corner while the other goes on: a fan.
    inner = np.array([[0, 0], [0, 0.001]], float)
    outer = np.stack([np.cos(np.linspace(0, 1.5, 30)), np.sin(np.linspace(0, 1.5, 30))], axis=1)
    straight = np.stack([np.linspace(0, -5, 20), np.full(20, 0.0)], axis=1)
    ladder = between_rails(
        np.concatenate([straight[::-1], inner]),
        np.concatenate([straight[::-1] + np.array([0, 1]), outer]),
    )
    result = smoothed(ladder, window_mm=1.0, step_mm=0.05)
    assert (np.diff(rail_lengths(result), axis=0) >= -1e-12).all()


def test_between_rails_has_a_rung_at_every_vertex():
    left = np.array([[0, 1], [3, 1], [10, 1]], float)
    right = np.array([[0, 0], [5, 0], [10, 0]], float)
    ladder = between_rails(left, right)
    np.testing.assert_allclose(ladder[:, 0, 0], [0, 3, 5, 10])
    np.testing.assert_allclose(ladder[:, 1, 0], [0, 3, 5, 10])
    np.testing.assert_allclose(rung_widths(ladder), 1.0)


def test_a_rail_that_stands_still_keeps_its_point():
    ladder = between_rails(np.zeros((1, 2)), np.array([[1, 0], [1, 4]], float))
    np.testing.assert_allclose(ladder[:, 0], 0.0)
    np.testing.assert_allclose(rail_lengths(ladder)[-1], [0, 4])


def test_turning_round_twice_gives_the_same_ladder():
    ladder = np.arange(24, dtype=float).reshape(6, 2, 2)
    np.testing.assert_array_equal(turned_round(turned_round(ladder)), ladder)
    np.testing.assert_array_equal(turned_round(ladder)[0, 0], ladder[-1, 1])


def test_a_fan_is_found_where_it_begins():
    angle = np.linspace(0, 1.2, 13)
    bar = np.stack([np.linspace(-5, 0, 26), np.zeros(26)], axis=1)
    fan = np.stack([2 * np.sin(angle), 2 * np.cos(angle)], axis=1)
    ladder = np.stack(
        [np.concatenate([bar + np.array([0, 2]), fan]), np.concatenate([bar, np.zeros((13, 2))])],
        axis=1,
    )
    first = fan_start(ladder, least_turn_rad=0.2)
    # A fan counts from where the standing rail has less than a share of the width to go.
    assert 24 <= first <= 26
    assert fan_start(ladder[:26], least_turn_rad=0.2) == 25


def test_an_even_cut_removes_the_skew_of_alternating_chords():
    # Chords between samples of two rails: each step moves one side only.
    left = np.repeat(np.arange(0, 10.0), 2)[1:]
    right = np.repeat(np.arange(0, 10.0), 2)[:-1]
    ladder = np.stack(
        [np.stack([left, np.ones(19)], axis=1), np.stack([right, np.zeros(19)], axis=1)], axis=1
    )
    head, rest_left, rest_right = cut_even(ladder, 9)
    skew = head[-1, 0, 0] - head[-1, 1, 0]
    assert abs(skew) < 0.6
    assert rest_left[0] == pytest.approx(head[-1, 0])
    assert rest_right[-1] == pytest.approx(ladder[-1, 1])


def test_repeats_go():
    ladder = np.zeros((4, 2, 2))
    ladder[3] = 1.0
    assert len(without_repeats(ladder)) == 2
