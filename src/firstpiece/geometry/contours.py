"""Curved outlines to areas: curves flattened finely, contours filled by a winding rule.

Input: the strokes of a pen (a drawing's path, a letter of a font). Output: shapely areas in the
pen's own coordinates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np
import shapely
from fontTools.pens.basePen import BasePen

from firstpiece.kernels.winding import winding_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

Area = shapely.Polygon | shapely.MultiPolygon


def areas_of(geometry: shapely.Geometry) -> Area:
    """Return the areas of a geometry; points and lines that cutting left behind go."""
    if isinstance(geometry, Area):
        return geometry
    parts = [p for p in shapely.get_parts(geometry) if isinstance(p, Area)]
    return cast("Area", shapely.union_all(parts)) if parts else shapely.Polygon()


@dataclass(frozen=True, slots=True, eq=False)
class Contour:
    """One flattened subpath: (n, 2) float64 points, and whether it was closed."""

    points: NDArray[np.float64]
    is_closed: bool


class FlatteningPen(BasePen):  # type: ignore[misc]
    """Draws curves as straight pieces that stray no further than the tolerance.

    Parameters
    ----------
    tolerance : float
        Largest distance from the curve, in the path's own units.
    """

    def __init__(self, tolerance: float) -> None:
        super().__init__()
        self.tolerance = tolerance
        self.contours: list[Contour] = []
        self._points: list[tuple[float, float]] = []

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802 (the pen protocol's names)
        self._points = [pt]

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._points.append(pt)

    def _curveToOne(  # noqa: N802
        self, pt1: tuple[float, float], pt2: tuple[float, float], pt3: tuple[float, float]
    ) -> None:
        p0, p1, p2, p3 = np.array([self._points[-1], pt1, pt2, pt3], dtype=np.float64)
        bend = max(np.hypot(*(p0 - 2 * p1 + p2)), np.hypot(*(p1 - 2 * p2 + p3)))
        if not math.isfinite(bend):
            self._points.append(pt3)
            return
        # Wang's bound on the distance of n equal parameter steps from a cubic.
        n = min(max(math.ceil(math.sqrt(0.75 * bend / self.tolerance)), 1), 500)
        t = np.linspace(0.0, 1.0, n + 1)[1:, None]
        s = 1.0 - t
        curve = s**3 * p0 + 3 * s**2 * t * p1 + 3 * s * t**2 * p2 + t**3 * p3
        self._points += [(float(x), float(y)) for x, y in curve]

    def _closePath(self) -> None:  # noqa: N802
        self._finish(is_closed=True)

    def _endPath(self) -> None:  # noqa: N802
        self._finish(is_closed=False)

    def _finish(self, *, is_closed: bool) -> None:
        if self._points:
            self.contours.append(Contour(np.array(self._points, dtype=np.float64), is_closed))
        self._points = []


def fill_area(contours: list[Contour], *, rule: str) -> Area:
    """Return what the fill rule paints inside the contours, open ones closed by a straight line.

    Parameters
    ----------
    contours : list of Contour
    rule : str
        ``nonzero`` or ``evenodd``.

    Returns
    -------
    shapely.Polygon or shapely.MultiPolygon
        Valid; maybe empty.
    """
    rings = [np.vstack([c.points, c.points[:1]]) for c in contours if len(c.points) >= 3]
    if not rings:
        return shapely.Polygon()
    if len(rings) == 1:
        plain = shapely.Polygon(rings[0])
        if plain.is_valid:
            return plain
    noded = shapely.union_all([shapely.LineString(ring) for ring in rings])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    if not len(faces):
        return shapely.Polygon()
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    winding = winding_numbers(inside, np.ascontiguousarray(edges))
    painted = winding % 2 != 0 if rule == "evenodd" else winding != 0
    return areas_of(shapely.union_all(faces[painted]))
