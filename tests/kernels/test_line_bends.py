"""Kept bends against a slow recursive twin, and on odd lines."""

import numpy as np
import pytest
import shapely

from firstpiece.kernels.line_bends import bend_points


def bend_points_slowly(xy, sag):
    """The twin: shapely's distances to the chord, by recursion."""
    keep = np.zeros(len(xy), dtype=bool)
    keep[[0, -1]] = True

    def split(a, b):
        if b - a < 2:
            return
        off = shapely.distance(shapely.LineString(xy[[a, b]]), shapely.points(xy[a + 1 : b]))
        far = a + 1 + int(np.argmax(off))
        if off.max() > sag:
            keep[far] = True
            split(a, far)
            split(far, b)

    split(0, len(xy) - 1)
    return keep


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("sag", [0.05, 0.3, 2.0])
def test_the_kept_points_are_those_of_the_twin(seed, sag):
    xy = np.cumsum(np.random.default_rng(seed).normal(size=(60, 2)), axis=0)
    np.testing.assert_array_equal(bend_points(xy, sag), bend_points_slowly(xy, sag))


def test_odd_lines():
    assert bend_points(np.empty((0, 2)), 0.1).tolist() == []
    assert bend_points(np.zeros((1, 2)), 0.1).tolist() == [True]
    assert bend_points(np.zeros((5, 2)), 0.1).tolist() == [True, False, False, False, True]
    hairpin = np.array([[0.0, 0.0], [10.0, 0.0], [1.0, 0.0]])
    assert bend_points(hairpin, 0.1).all()
