"""Letters and digits of the shipped bold face, 12 mm and 6 mm high, drawn as flat ribbons.

Cover and the largest bare circle are measured with shapely, which planning does not use for them.
The limits are those of the project's brief: cover over 99 %, no bare circle over 0.3 mm, steps of
at least 0.3 mm, at most 14 holes in any square millimetre.
"""

import itertools
import string
from importlib.resources import as_file, files

import numpy as np
import pytest
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont

from firstpiece.planning.satin import satin_stitches

LETTERS = string.ascii_letters + string.digits + "&!?"
CAP_HEIGHT = 714  # Noto Sans, units of 1000 to the em


class FlatPen(BasePen):
    """Collects contours as polylines."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.contours = []

    def _moveTo(self, point):  # noqa: N802
        self.contours.append([point])

    def _lineTo(self, point):  # noqa: N802
        self.contours[-1].append(point)

    def _curveToOne(self, one, two, end):  # noqa: N802
        a, b, c, d = (np.array(p, float) for p in (self.contours[-1][-1], one, two, end))
        for t in np.linspace(0, 1, 9)[1:]:
            s = 1 - t
            self.contours[-1].append(s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d)


@pytest.fixture(scope="module")
def face():
    with as_file(files("firstpiece") / "data" / "fonts" / "NotoSans-Bold.ttf") as path:
        return TTFont(path)


def outlines(face, letter, cap_mm):
    glyphs = face.getGlyphSet()
    pen = FlatPen(glyphs)
    glyphs[face.getBestCmap()[ord(letter)]].draw(pen)
    shape = shapely.Polygon()
    for contour in pen.contours:
        ring = np.array(contour) * (cap_mm / CAP_HEIGHT)
        shape = shape.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
    return [p for p in shapely.get_parts(shape) if p.area > 0.01]


def sew(polygon):
    return satin_stitches(
        polygon, column_spacing_mm=0.4, pull_mm=0.0, longest_stitch_mm=9.0, thread_width_mm=0.4
    )


def measure(polygon, columns):
    """Return the share covered, the share sewn over 0.5 mm outside, and the largest bare circle."""
    stitches = [
        shapely.LineString(pair) for c in columns for pair in itertools.pairwise(c.points_mm)
    ]
    laid = shapely.union_all(shapely.buffer(stitches, 0.2, cap_style="flat"))
    bare = [p for p in shapely.get_parts(polygon.difference(laid)) if p.area > 2e-3]
    circles = [2 * shapely.maximum_inscribed_circle(p, tolerance=0.01).length for p in bare]
    cover = 1 - polygon.difference(laid).area / polygon.area
    outside = laid.difference(polygon.buffer(0.5)).area / polygon.area
    return cover, outside, max(circles, default=0.0)


@pytest.mark.parametrize("cap_mm", [6.0, 12.0])
def test_letters_are_covered_without_gaps_short_steps_or_crowded_holes(face, cap_mm):
    covers = []
    for letter in LETTERS:
        for polygon in outlines(face, letter, cap_mm):
            columns = sew(polygon)
            cover, outside, gap = measure(polygon, columns)
            covers.append(cover)
            points = np.concatenate([c.points_mm for c in columns])
            cells = np.unique(np.floor(points), axis=0, return_counts=True)[1]
            step = np.concatenate([np.hypot(*np.diff(c.points_mm, axis=0).T) for c in columns])
            assert cover > 0.975, letter
            assert outside < 0.01, letter
            assert gap <= 0.3, letter
            assert cells.max() <= 14, letter
            assert step.min() >= 0.3, letter
    assert np.mean(covers) > 0.99


@pytest.mark.parametrize(
    ("letter", "count"),
    [("O", 1), ("S", 1), ("T", 2), ("X", 3), ("H", 3), ("L", 2), ("V", 2), ("e", 2), ("8", 1)],
)
def test_letters_have_the_strokes_a_sign_writer_would_count(face, letter, count):
    # Common practice, no source: one column per stroke, a cross of two is three, corners are cut.
    columns = [c for p in outlines(face, letter, 12.0) for c in sew(p)]
    assert len(columns) == count
