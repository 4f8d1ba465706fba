"""Cubic fitting: curves come back, the tolerance holds, joins are smooth; a slow numpy twin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.kernels.cubic_fit import fit_cubics


def points_on(cubic, n=60):
    t = np.linspace(0, 1, n)[:, None]
    s = 1 - t
    return s**3 * cubic[0] + 3 * s * s * t * cubic[1] + 3 * s * t * t * cubic[2] + t**3 * cubic[3]


def slow_distance(points, cubics):
    """Twin of the test inside the kernel: distance to 2000 points of every curve."""
    dense = np.concatenate([points_on(c, 2000) for c in cubics])
    return np.array([np.hypot(*(dense - p).T).min() for p in points])


def test_a_cubic_comes_back_as_one():
    cubic = np.array([[0.0, 0.0], [10.0, 30.0], [40.0, 30.0], [50.0, 5.0]])
    points = points_on(cubic)
    got = fit_cubics(points, 0.5, 3, False)
    assert len(got) == 1
    assert slow_distance(points, got).max() <= 0.5


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.1, 0.4, 1.5]))
def test_the_tolerance_holds_and_joins_are_smooth(seed, tolerance):
    rng = np.random.default_rng(seed)
    t = np.arange(150.0)
    y = sum(rng.normal(0, 4) * np.sin(t / rng.uniform(8, 40) + rng.uniform(0, 6)) for _ in range(3))
    points = np.column_stack([t, y])
    cubics = fit_cubics(points, tolerance, 4, False)
    np.testing.assert_array_equal(cubics[0, 0], points[0])
    np.testing.assert_array_equal(cubics[-1, 3], points[-1])
    np.testing.assert_array_equal(cubics[1:, 0], cubics[:-1, 3])
    # The kernel measures at its own parameters, never nearer than the true foot.
    assert slow_distance(points[::5], cubics).max() <= tolerance + 0.02
    before = cubics[:-1, 3] - cubics[:-1, 2]
    after = cubics[1:, 1] - cubics[1:, 0]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    sizes = np.hypot(*before.T) * np.hypot(*after.T)
    assert (np.abs(cross) <= 1e-6 * sizes + 1e-9).all()


@pytest.mark.parametrize("points", [[[0, 0], [1, 0]], [[0, 0], [0, 0]], [[0, 0], [1, 1], [0, 0]]])
def test_tiny_input(points):
    cubics = fit_cubics(np.array(points, dtype=np.float64), 0.1, 4, False)
    assert np.isfinite(cubics).all()
    np.testing.assert_array_equal(cubics[-1, 3], points[-1])
