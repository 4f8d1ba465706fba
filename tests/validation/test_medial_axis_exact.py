"""Medial axes known in closed form.

Ellipse (differential geometry): the axis is the segment between the centres of curvature at the
ends of the long axis, |x| <= (a^2 - b^2)/a, with radius b at the centre and b^2/a at its ends; a
common mistake is to take the foci. Rectangle W x H: a central segment W - H and four corner
branches of H/sqrt(2). Annulus: the middle circle.
"""

import numpy as np
import pytest
import shapely

from firstpiece.geometry.medial_axis import inscribed_widths, medial_axis


def ellipse(a: float, b: float, n: int) -> shapely.Polygon:
    angle = np.linspace(0.0, 2.0 * np.pi, n, endpoint=False)
    return shapely.Polygon(np.stack([a * np.cos(angle), b * np.sin(angle)], axis=1))


def test_ellipse_axis_lies_on_the_long_axis_and_ends_at_the_centres_of_curvature():
    axis = medial_axis(ellipse(5.0, 3.0, 2000), spacing_mm=0.02, keep_ratio=0.01)
    assert np.abs(axis.nodes_mm[:, 1]).max() < 1e-4
    # A residual of 1 % of the radius is reached a little inside the exact end at 3.2.
    assert axis.nodes_mm[:, 0].max() == pytest.approx(3.2, abs=0.08)
    assert axis.nodes_mm[:, 0].min() == pytest.approx(-3.2, abs=0.08)
    assert axis.radii_mm.max() == pytest.approx(3.0, abs=1e-3)
    # The radius falls one for one with x at the end, so it has the same error.
    assert axis.radii_mm.min() == pytest.approx(1.8, abs=0.08)


def test_ellipse_radii_follow_the_formula_along_the_axis():
    # Nearest outline point from (x, 0): r^2 = b^2 (1 - x^2 / (a^2 - b^2)).
    axis = medial_axis(ellipse(5.0, 3.0, 2000), spacing_mm=0.02)
    x = axis.nodes_mm[:, 0]
    assert len(x) > 100
    np.testing.assert_allclose(axis.radii_mm, 3.0 * np.sqrt(1.0 - x**2 / 16.0), atol=1e-3)


def test_ellipse_axis_end_converges_as_branches_are_kept_longer():
    errors = [
        3.2 - medial_axis(ellipse(5.0, 3.0, 4000), spacing_mm=0.01, keep_ratio=k).nodes_mm.max()
        for k in (0.16, 0.04, 0.01)
    ]
    # The residual grows as the third power of the angle from the end and the distance from the
    # end as the second: each quarter must shrink the error by about 4^(2/3) = 2.5.
    assert errors[0] / errors[1] == pytest.approx(4 ** (2 / 3), rel=0.2)
    assert errors[1] / errors[2] == pytest.approx(4 ** (2 / 3), rel=0.2)


def test_rectangle_with_corner_branches():
    axis = medial_axis(shapely.box(-5, -2, 5, 2), spacing_mm=0.02, keep_ratio=0.4)
    lengths = sorted(b.length_mm for b in axis.branches)
    assert len(lengths) == 5
    assert lengths[-1] == pytest.approx(6.0, abs=1e-3)
    # Each corner branch stops about one sample short of its corner.
    np.testing.assert_allclose(lengths[:4], 4.0 / np.sqrt(2.0), atol=0.03)
    assert axis.length_mm == pytest.approx(17.31371, abs=0.1)
    assert axis.radii_mm.max() == pytest.approx(2.0, abs=1e-3)


def test_rectangle_default_keeps_only_the_middle():
    axis = medial_axis(shapely.box(-5, -2, 5, 2), spacing_mm=0.05)
    assert len(axis.branches) == 1
    assert axis.length_mm == pytest.approx(6.0, abs=1e-3)


def test_annulus_axis_is_the_middle_circle():
    disc = shapely.Point(0, 0).buffer(5, quad_segs=200)
    ring = disc.difference(shapely.Point(0, 0).buffer(3, quad_segs=200))
    axis = medial_axis(ring, spacing_mm=0.05)
    assert [b.is_closed for b in axis.branches] == [True]
    np.testing.assert_allclose(np.hypot(*axis.nodes_mm.T), 4.0, atol=2e-3)
    assert axis.length_mm == pytest.approx(8.0 * np.pi, rel=2e-3)
    widths = inscribed_widths(ring)
    assert widths.median_mm == pytest.approx(2.0, abs=0.01)
    assert (widths.n_ends, widths.n_junctions) == (0, 0)
