"""Rows and cells of shapes whose rows can be counted by hand."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from tests.properties.strategies import polygons

from firstpiece.geometry.rows import cut_into_rows, polygon_edges, turn_points


def test_a_square_gives_evenly_spaced_rows_from_edge_to_edge():
    grid = cut_into_rows(shapely.box(0, 0, 10, 4), angle_rad=0.0, spacing_mm=0.4, edge_mm=0.2)
    assert len(grid.y_mm) == 10
    assert grid.y_mm[0] == pytest.approx(0.2)
    assert grid.y_mm[-1] == pytest.approx(3.8)
    assert grid.spacing_mm == pytest.approx(0.4)
    assert len(grid.cells) == 1


def test_a_ring_is_four_cells():
    ring = shapely.Point(0, 0).buffer(10).difference(shapely.Point(0, 0).buffer(4))
    grid = cut_into_rows(ring, angle_rad=0.3, spacing_mm=0.4, edge_mm=0.2)
    assert len(grid.cells) == 4
    assert len(grid.links) == 4


def test_two_parts_are_both_cut():
    parts = shapely.MultiPolygon([shapely.box(0, 0, 2, 2), shapely.box(5, 0, 7, 2)])
    assert len(polygon_edges(parts)) == 8
    grid = cut_into_rows(parts, angle_rad=0.0, spacing_mm=0.5, edge_mm=0.25)
    assert len(grid.cells) == 2


def test_less_than_a_row_high_gives_one_row_in_the_middle():
    grid = cut_into_rows(shapely.box(0, 0, 5, 0.1), angle_rad=0.0, spacing_mm=0.4, edge_mm=0.2)
    assert grid.y_mm.tolist() == [pytest.approx(0.05)]


@settings(max_examples=25, deadline=None)
@given(polygons())
def test_row_lengths_sum_to_the_area(polygon):
    # The mid-point rule on the rows' lengths; its error falls with the square of the spacing
    # except at corners, so half a row along the height is allowed.
    for angle in (0.0, 0.7, math.pi / 2):
        grid = cut_into_rows(polygon, angle_rad=angle, spacing_mm=0.1, edge_mm=0.05)
        area = float((grid.right_mm - grid.left_mm).sum()) * grid.spacing_mm
        assert area == pytest.approx(polygon.area, abs=0.05 * polygon.length)


def test_turning_there_and_back():
    xy = np.array([[1.0, 0.0], [0.3, -4.0]])
    np.testing.assert_allclose(turn_points(xy, math.pi / 2)[0], [0.0, 1.0], atol=1e-12)
    np.testing.assert_allclose(turn_points(turn_points(xy, 0.8), -0.8), xy, atol=1e-12)
