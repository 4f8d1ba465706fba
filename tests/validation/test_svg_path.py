"""SVG paths: figures of W3C SVG 1.1 (2nd ed., 2011) §8.3 and its grammar, lengths as three other
path readers give them; F.6.6 for radii that are too small.
"""

from xml.etree.ElementTree import Element

import numpy as np
import pytest

from firstpiece.files.vector_outline import outline_of

LENGTHS = {
    "closing line": ("M100,100 l50,0 0,50 z", 170.710678),
    "implicit lines": ("M 10 10 20 20 30 10", 28.284271),
    "numbers run together": ("M.5.5L-.5-.5", 1.414214),
    "signs part numbers": ("M100-200L50-50", 158.113883),
    "exponents": ("M1e1 1E+1 L2e1,1e1", 10.0),
    "flags run together": ("M 0 0a10 10 0 0120 0", 31.415927),
    "radii scaled up (F.6.6)": ("M0 0 A5 5 0 0 1 20 0", 31.415927),
    "figure quad01": ("M200,300 Q400,50 600,300 T1000,300", 975.542188),
    "figure cubic01": ("M100,200 C100,100 250,100 250,200 S400,300 400,200", 475.747299),
    "circle by two arcs": ("M50 0 A50 50 0 0 1 -50 0 A50 50 0 0 1 50 0", 314.159265),
}


@pytest.mark.parametrize("name", LENGTHS)
def test_length(name):
    """The length along a path, flattened to 1/1000 of a unit."""
    text, length = LENGTHS[name]
    contours = outline_of(
        Element("path", d=text), "path", tolerance=1e-3 * length / 100.0, viewport=(1.0, 1.0)
    )
    ours = sum(np.hypot(*np.diff(c.points, axis=0).T).sum() for c in contours)
    # Arcs are drawn as cubics, which stray by 3 parts in 10 000 of the radius.
    assert ours == pytest.approx(length, rel=4e-4)


def test_flattening_stays_within_its_tolerance():
    """The farthest point of a flattened circle lies within the tolerance of the circle."""
    for tolerance in (1.0, 0.1, 0.01):
        circle = Element("circle", r="50")
        (contour,) = outline_of(circle, "circle", tolerance=tolerance, viewport=(1.0, 1.0))
        middles = (contour.points + np.roll(contour.points, 1, axis=0)) / 2.0
        assert np.abs(np.hypot(*middles.T) - 50.0).max() <= tolerance + 50.0 * 3e-4
