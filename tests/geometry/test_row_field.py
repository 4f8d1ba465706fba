"""Curved rows against shapes whose even rows are known: a straight strip and a ring's sector."""

import math

import numpy as np
import pytest
import shapely

from firstpiece.geometry.row_field import solve_row_field


def sector(inner, outer, first=0.3, last=2.8):
    a = np.linspace(first, last, 80)
    rim = np.column_stack([np.cos(a), np.sin(a)])
    return shapely.Polygon(np.vstack([outer * rim, inner * rim[::-1]]))


def tangents(radius, first=0.3, last=2.8):
    a = np.linspace(first, last, 40)
    place = radius * np.column_stack([np.cos(a), np.sin(a)])
    return np.hstack([place, np.column_stack([-np.sin(a), np.cos(a)])])


def test_one_guide_gives_straight_rows():
    angle = 0.4
    way = np.array([math.cos(angle), math.sin(angle)])
    field = solve_row_field(shapely.box(0, 0, 30, 20), np.array([[10.0, 5.0, *way]]))
    xy = np.random.default_rng(1).uniform([1, 1], [29, 19], (200, 2))
    uv = field.to_rows(xy)
    expected = np.column_stack([xy @ way, xy @ [-way[1], way[0]]])
    shift = (uv - expected).mean(axis=0)
    np.testing.assert_allclose(uv - shift, expected, atol=0.02)
    assert field.bend_per_mm < 1e-3


@pytest.mark.parametrize(("inner", "outer"), [(10, 20), (14, 24)])
def test_rows_round_a_ring_are_its_circles_evenly_apart(inner, outer):
    # Across a ring the even coordinate is the radius itself.
    field = solve_row_field(sector(inner, outer), tangents((inner + outer) / 2))
    a = np.random.default_rng(2).uniform(0.5, 2.6, 300)
    r = np.random.default_rng(3).uniform(inner + 0.5, outer - 0.5, 300)
    v = field.to_rows(np.column_stack([r * np.cos(a), r * np.sin(a)]))[:, 1]
    slope, offset = np.polyfit(r, v, 1)
    assert abs(abs(slope) - 1) < 0.03
    # The ends of the sector bend off a little: nine places in ten lie within half a thread.
    assert np.percentile(np.abs(v - slope * r - offset), 90) < 0.25
    assert field.bend_per_mm == pytest.approx(2 / (inner + outer), rel=0.6)


def test_points_come_back_from_rows():
    field = solve_row_field(sector(10, 20), tangents(15))
    a = np.random.default_rng(4).uniform(0.4, 2.7, 300)
    r = np.random.default_rng(5).uniform(10.2, 19.8, 300)
    xy = np.column_stack([r * np.cos(a), r * np.sin(a)])
    np.testing.assert_allclose(field.from_rows(field.to_rows(xy)), xy, atol=0.01)
