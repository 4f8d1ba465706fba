import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.planning.satin import SatinColumn, satin_stitches


def sew(polygon: shapely.Polygon, **changes: float) -> tuple[SatinColumn, ...]:
    wanted = {
        "column_spacing_mm": 0.4,
        "pull_mm": 0.0,
        "longest_stitch_mm": 9.0,
        "thread_width_mm": 0.4,
    }
    return satin_stitches(polygon, **(wanted | changes))


def test_a_bar_becomes_one_column_with_the_asked_spacing():
    (column,) = sew(shapely.box(0, 0, 20, 2))
    points = column.points_mm
    assert set(np.round(points[:, 1], 6)) == {0.0, 2.0}
    top = np.sort(points[points[:, 1] > 1, 0])
    # The stitch may slant by a part of a sample at the ends, never space wider than asked.
    assert np.median(np.diff(top)) == pytest.approx(0.4, abs=0.01)
    np.testing.assert_allclose(np.diff(top), 0.38, atol=0.025)
    np.testing.assert_allclose(column.widths_mm, 2.0, atol=0.005)


def test_pull_widens_each_side():
    (column,) = sew(shapely.box(0, 0, 20, 2), pull_mm=0.25)
    assert column.points_mm[:, 1].min() == pytest.approx(-0.25, abs=0.01)
    assert column.points_mm[:, 1].max() == pytest.approx(2.25, abs=0.01)


def test_a_ring_is_one_closed_column_without_a_seam():
    ring = shapely.Point(0, 0).buffer(6).difference(shapely.Point(0, 0).buffer(4))
    (column,) = sew(ring)
    assert column.is_closed
    np.testing.assert_allclose(column.points_mm[-2:], column.points_mm[1:3], atol=0.05)
    assert np.abs(np.hypot(*column.axis_mm.T) - 5).max() < 0.05


@settings(max_examples=20, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-8, 8), st.floats(-8, 8)), min_size=2, max_size=5, unique=True),
    st.floats(0.4, 1.8),
    st.floats(0.0, 0.4),
)
def test_penetrations_stay_within_the_shape_and_pull(nodes, half_width, pull):
    line = shapely.LineString(nodes)
    if line.length < 1:
        return
    shape = line.buffer(half_width)
    allowed = shape.buffer(pull + 0.05)
    for column in sew(shape, pull_mm=pull):
        assert shapely.contains_xy(allowed, *column.points_mm.T).all()
        step = np.hypot(*np.diff(column.points_mm, axis=0).T)
        assert step.min() >= 0.3
        assert step.max() <= 9.0
