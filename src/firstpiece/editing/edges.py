"""Edges smoothed, sharpened and drawn anew, with how far they moved.

Input: a design and one of these edits. Output: ``Edited``; neighbours follow the moved edge.
"""

from __future__ import annotations

from gettext import gettext as _
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.addressing import area_words, find_area
from firstpiece.editing.means import Edited
from firstpiece.editing.reshape import reshape_area
from firstpiece.errors import EditError
from firstpiece.geometry.contours import areas_of
from firstpiece.geometry.smoothing import find_corners, smooth_within

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import RedrawEdge, SharpenCorner, SmoothEdge
    from firstpiece.model.region import Region, RegionMap

STEP_MM = 0.1
"""Edges are sampled this finely before they are smoothed."""

MOST_SMOOTH_MM = 5.0
CORNER_TURN_RAD = 0.7
CORNER_REACH_MM = 0.8
FAR_FROM_EDGE_MM = 5.0
# λ of the smoother on points 0.1 mm apart: from a tenth of a millimetre's wobble to a hand's.
_STRENGTHS = 10.0 ** np.linspace(0.0, 8.0, 33)
_FINEST_MM = 0.005
"""Points of a smoothed edge that are this near to a straight line are left out."""


def smooth_edge(region_map: RegionMap, edit: SmoothEdge, means: EditMeans) -> Edited:
    """Return the design with the wobble of an area's edge taken out, here or everywhere."""
    region = find_area(region_map, edit.area)
    if not 0.0 <= edit.strength_mm <= MOST_SMOOTH_MM:
        raise EditError(
            _("an edge cannot be smoothed by {mm:g} mm").format(mm=edit.strength_mm),
            remedy=_("choose 0 to {mm:g} mm").format(mm=MOST_SMOOTH_MM),
        )
    if edit.strength_mm == 0.0:
        return Edited(region_map, _("Nothing changed: the edge may move by 0 mm."), 0.0)

    def smoother(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return _smooth_stretch(xy, edit.strength_mm, is_closed=False)

    rings = []
    for ring in (region.polygon.exterior, *region.polygon.interiors):
        xy = shapely.get_coordinates(ring)
        if edit.here_mm is None:
            rings.append(_smooth_stretch(xy[:-1], edit.strength_mm, is_closed=True))
        else:
            rings.append(_within_circle(xy, edit.here_mm, edit.radius_mm, smoother))
    if edit.here_mm is not None and all(
        len(a) == len(b) and np.array_equal(a, b)
        for a, b in zip(rings, _ring_points(region), strict=True)
    ):
        raise _no_edge_here(region, edit.here_mm, edit.radius_mm)
    return _with_rings(region_map, region, rings, means, _("smoothed"))


def sharpen_corner(region_map: RegionMap, edit: SharpenCorner, means: EditMeans) -> Edited:
    """Return the design with a rounded corner of an area's edge made sharp."""
    region = find_area(region_map, edit.area)
    sharpened: list[bool] = []

    def sharpen(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        sharp = _sharp_stretch(xy)
        sharpened.append(sharp is not xy)
        return sharp

    rings = [
        _within_circle(shapely.get_coordinates(ring), edit.here_mm, edit.radius_mm, sharpen)
        for ring in _ring_shapes(region)
    ]
    if not any(sharpened):
        near = shapely.distance(region.polygon.boundary, shapely.Point(edit.here_mm))
        if near > edit.radius_mm:
            raise _no_edge_here(region, edit.here_mm, edit.radius_mm)
        raise EditError(
            _("the edge of area {number} is straight here or turns back").format(number=region.id),
            remedy=_("choose a place at a rounded corner, and a circle that reaches past it"),
        )
    return _with_rings(region_map, region, rings, means, _("sharpened"))


def redraw_edge(region_map: RegionMap, edit: RedrawEdge, means: EditMeans) -> Edited:
    """Return the design with a piece of an area's edge replaced by a drawn line."""
    region = find_area(region_map, edit.area)
    line = np.array(edit.line_mm, dtype=np.float64).reshape(-1, 2)
    if len(line) < 2 or not np.ptp(line, axis=0).any():
        raise EditError(_("the line has no length"), remedy=_("give at least two different points"))
    rings = [ring[:-1] for ring in map(shapely.get_coordinates, _ring_shapes(region))]
    ends = shapely.points(line[[0, -1]])
    apart = [float(np.max(shapely.distance(ring, ends))) for ring in _ring_shapes(region)]
    k = int(np.argmin(apart))
    if apart[k] > FAR_FROM_EDGE_MM:
        raise EditError(
            _("the line begins or ends {mm:.1f} mm from the edge of area {number}").format(
                mm=apart[k], number=region.id
            ),
            remedy=_("begin and end it on the same edge"),
        )
    rings[k] = _replaced(_ring_shapes(region)[k], line)
    return _with_rings(region_map, region, rings, means, _("drawn anew"))


def _ring_shapes(region: Region) -> list[shapely.LinearRing]:
    return [region.polygon.exterior, *region.polygon.interiors]


def _ring_points(region: Region) -> list[NDArray[np.float64]]:
    return [shapely.get_coordinates(ring)[:-1] for ring in _ring_shapes(region)]


def _replaced(ring: shapely.LinearRing, line: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a ring with its stretch along a line replaced by the line.

    Of the two ways round between the line's ends, the one that lies nearer to the line goes.
    """
    start, end = (float(ring.project(shapely.Point(p))) for p in line[[0, -1]])
    one = _stretch(ring, start, end)
    two = _stretch(ring, end, start)
    drawn = shapely.LineString(line)
    apart = [shapely.hausdorff_distance(shapely.LineString(way), drawn) for way in (one, two)]
    if apart[0] <= apart[1]:
        return np.vstack([line, two])
    return np.vstack([line[::-1], one])


def _stretch(ring: shapely.LinearRing, start: float, end: float) -> NDArray[np.float64]:
    """Return the points of a ring from one length along it forward to another."""
    xy = shapely.get_coordinates(ring)
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    total = at[-1]
    if end <= start:
        end += total
    xy, at = np.vstack([xy[:-1], xy]), np.concatenate([at[:-1], at + total])
    inner = (at > start) & (at < end)
    first, last = (
        np.array([np.interp(s, at, xy[:, 0]), np.interp(s, at, xy[:, 1])]) for s in (start, end)
    )
    return np.vstack([first, xy[inner], last])


def _within_circle(
    ring: NDArray[np.float64],
    here: tuple[float, float],
    radius: float,
    change: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Return a ring's points (open) with each stretch inside a circle changed between its ends."""
    circle = shapely.Point(here).buffer(max(radius, 1e-3), quad_segs=32)
    line = shapely.LineString(ring)
    inside = shapely.intersection(line, circle)
    if inside.is_empty or inside.length == 0.0:
        return ring[:-1]
    outside = shapely.difference(line, circle)
    if outside.is_empty:
        return _smooth_or_same(ring[:-1], change)
    pieces = [
        (float(line.project(shapely.Point(shapely.get_coordinates(p)[0]))), p, is_in)
        for shape, is_in in ((_joined(inside), True), (_joined(outside), False))
        for p in shapely.get_parts(shape)
        if p.geom_type == "LineString" and p.length > 0
    ]
    pieces.sort(key=lambda piece: piece[0])
    out = [
        change(xy)[:-1] if is_in else xy[:-1]
        for _at, p, is_in in pieces
        for xy in [shapely.get_coordinates(p)]
    ]
    return np.vstack(out)


def _smooth_or_same(
    ring: NDArray[np.float64], change: Callable[[NDArray[np.float64]], NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Change a ring that lies in the circle as a whole, opened at its first point."""
    return change(np.vstack([ring, ring[:1]]))[:-1]


def _joined(shape: shapely.Geometry) -> shapely.Geometry:
    """Return the stretches of a ring, one that runs through its first point in one piece."""
    lines = [p for p in shapely.get_parts(shape) if p.geom_type == "LineString" and p.length > 0]
    whole = shapely.MultiLineString(lines)
    # Directed merging keeps the ring's own direction.
    return shapely.line_merge(whole, directed=True) if len(lines) > 1 else whole


def _smooth_stretch(
    xy: NDArray[np.float64], strength_mm: float, *, is_closed: bool
) -> NDArray[np.float64]:
    """Return a stretch of edge smoothed between its corners; its ends stay."""
    even = _resampled(xy, is_closed=is_closed)
    if len(even) < 8:
        return xy
    reach = max(2, round(CORNER_REACH_MM / STEP_MM))
    corners = find_corners(even, reach=reach, least_turn_rad=CORNER_TURN_RAD, is_closed=is_closed)
    limit = strength_mm / STEP_MM
    if is_closed and not len(corners):
        smooth = smooth_within(even / STEP_MM, _STRENGTHS, limit=limit, is_closed=True) * STEP_MM
        return _thinned(np.vstack([smooth, smooth[:1]]))[:-1]
    if is_closed:
        even = np.roll(even, -int(corners[0]), axis=0)
        even = np.vstack([even, even[:1]])
        corners = corners - corners[0]
    stops = sorted({0, *corners.tolist(), len(even) - 1})
    out = [
        _thinned(smooth_within(even[a : b + 1] / STEP_MM, _STRENGTHS, limit=limit, is_closed=False)
                 * STEP_MM)[:-1]
        for a, b in pairwise(stops)
    ]  # fmt: skip
    return np.vstack(out) if is_closed else np.vstack([*out, even[-1:]])


def _resampled(xy: NDArray[np.float64], *, is_closed: bool) -> NDArray[np.float64]:
    line = shapely.LineString(np.vstack([xy, xy[:1]]) if is_closed else xy)
    n = max(3, round(line.length / STEP_MM))
    at = np.linspace(0.0, line.length, n + 1)
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, at))
    if is_closed:
        return points[:-1]
    points[0], points[-1] = xy[0], xy[-1]
    return points


def _thinned(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    return shapely.get_coordinates(shapely.simplify(shapely.LineString(xy), _FINEST_MM))


def _sharp_stretch(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a stretch of edge as two straight sides that meet, or as it is when they do not."""
    even = _resampled(xy, is_closed=False)
    n = len(even)
    if n < 9:
        return xy
    side = max(3, n // 4)
    p, u = _side(even[:side])
    q, v = _side(even[::-1][:side])
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 0.17:
        return xy
    gap = q - p
    along_p = (gap[0] * v[1] - gap[1] * v[0]) / cross
    along_q = (gap[0] * u[1] - gap[1] * u[0]) / cross
    reach = np.hypot(*np.ptp(even, axis=0))
    # Sides that meet behind themselves, or far away, make no corner here.
    if not (0.0 < along_p < 2.0 * reach and 0.0 < along_q < 2.0 * reach):
        return xy
    return np.vstack([xy[0], p + along_p * u, xy[-1]])


def _side(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return first point and unit direction of the straight line through a side."""
    middle = points.mean(axis=0)
    direction = np.linalg.svd(points - middle)[2][0]
    if direction @ (points[-1] - points[0]) < 0:
        direction = -direction
    return points[0], direction


def _with_rings(
    region_map: RegionMap,
    region: Region,
    rings: list[NDArray[np.float64]],
    means: EditMeans,
    what: str,
) -> Edited:
    """Return the design with an area's rings replaced, and how far they moved."""
    shell, *holes = (shapely.Polygon(ring) for ring in rings if len(ring) >= 3)
    shape = areas_of(shapely.make_valid(shell))
    for hole in holes:
        shape = areas_of(shapely.difference(shape, shapely.make_valid(hole)))
    if shape.is_empty:
        raise EditError(
            _("nothing would be left of area {number}").format(number=region.id),
            remedy=_("draw the edge so that it leaves an area, or drop it"),
        )
    moved = float(shapely.hausdorff_distance(region.polygon.boundary, shape.boundary, 0.2))
    made = reshape_area(region_map, region, shape, next_id=means.first_new(region_map))
    words = area_words(region_map, region)
    sentence = _("The edge of {area} is {what}; it moved by {mm:.2f} mm at most.").format(
        area=words, what=what, mm=moved
    )
    return Edited(made, sentence, moved)


def _no_edge_here(region: Region, here: tuple[float, float], radius_mm: float) -> EditError:
    apart = shapely.distance(region.polygon.boundary, shapely.Point(here))
    if apart <= radius_mm:
        return EditError(
            _("the edge of area {number} has no wobble here").format(number=region.id),
            remedy=_("choose another place, or a larger circle"),
        )
    return EditError(
        _("the edge of area {number} is {mm:.1f} mm from there").format(number=region.id, mm=apart),
        remedy=_("choose a place on its edge"),
    )
