"""Corners of polygons stay sharp and where they are; round bends stay round.

The behaviour is that of Selinger 2003, Potrace, section 2.3: a vertex whose sides are long against
a pixel is a corner; a circle has none. Polygons are drawn with soft edges at 4 px to the mm.
"""

import cv2
import numpy as np
import pytest
import shapely
from tests.tracing.art import trace

from firstpiece.model.artwork import Artwork

SCALE = 16


def picture(points, size=400):
    big = np.full((size * SCALE // 4, size * SCALE // 4), 255, dtype=np.uint8)
    cv2.fillPoly(big, [np.rint(np.array(points) * SCALE / 4).astype(np.int32)], 0)
    soft = cv2.resize(big, (size, size), interpolation=cv2.INTER_AREA)
    alpha = np.full_like(soft, 255)
    pixels = np.dstack([soft, soft, soft, alpha])
    return Artwork(name="corners", width=size, height=size, pixels=pixels)


def star(n, outer=180, inner=80):
    t = np.arange(2 * n) * np.pi / n + 0.2
    r = np.where(np.arange(2 * n) % 2, inner, outer)
    return np.column_stack([200 + r * np.cos(t), 200 + r * np.sin(t)])


@pytest.mark.parametrize("n", [3, 4, 5, 6])
def test_the_corners_of_a_star_stay(n):
    points = star(n)
    height = np.ptp(points[:, 1])
    traced = trace(picture(points), height_mm=height / 4)
    (region,) = traced.regions
    middle = (points.max(axis=0) + points.min(axis=0)) / 2
    corners = (points - middle) * [0.25, -0.25]
    found = shapely.get_coordinates(region.polygon)
    # 0.375 mm is one and a half pixels.
    for corner in corners:
        assert np.hypot(*(found - corner).T).min() < 0.375, corner
    true = shapely.Polygon((points - middle) * [0.25, -0.25])
    assert region.polygon.symmetric_difference(true).area < 0.02 * true.area


def test_a_circle_has_no_corner():
    t = np.linspace(0, 2 * np.pi, 200)
    traced = trace(picture(np.column_stack([200 + 150 * np.cos(t), 200 + 150 * np.sin(t)])), 75.0)
    (region,) = traced.regions
    radii = np.hypot(*shapely.get_coordinates(region.polygon).T)
    assert radii.max() - radii.min() < 0.03
    assert region.polygon.area == pytest.approx(np.pi * 37.5**2, rel=2e-3)
