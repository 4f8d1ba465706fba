"""Painted masks against the areas of the polygons they stand for."""

import pytest
import shapely

from firstpiece.geometry.polygon import paint_polygon


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Point(3, 3).buffer(2.5).difference(shapely.Point(3, 3).buffer(1.2)),
        shapely.box(0.53, 0.71, 5.2, 1.9),
        shapely.MultiPolygon([shapely.box(0.5, 0.5, 2, 2), shapely.box(3, 3, 5.5, 5)]),
    ],
)
def test_painted_area_matches_within_the_rim(shape):
    mask = paint_polygon(shape, 0.0, 6.0, 0.05, (120, 120))
    # The fill paints the rim's pixels too, half a pixel more on each side.
    assert mask.sum() * 0.05**2 == pytest.approx(shape.area, abs=0.05 * shape.length)
    assert mask.sum() * 0.05**2 >= shape.area - 0.01 * shape.length


def test_row_0_is_the_top_and_a_hole_stays_open():
    frame = shapely.box(0, 0, 6, 6).difference(shapely.box(1, 1, 5, 3))
    mask = paint_polygon(frame, 0.0, 6.0, 0.5, (12, 12))
    assert mask[1, 5] == 1
    assert mask[8, 5] == 0


def test_outside_the_raster_nothing_is_painted():
    assert not paint_polygon(shapely.box(20, 20, 30, 30), 0.0, 6.0, 0.5, (12, 12)).any()
    assert paint_polygon(shapely.box(-5, -5, 50, 50), 0.0, 6.0, 0.5, (12, 12)).all()
