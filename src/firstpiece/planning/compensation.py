"""Widening against pull, and the overlap that keeps cloth from opening between two colours.

Input: areas in sewing order. Output: the shapes to sew, each reaching a little under its later
neighbours of another thread.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

# How far the earlier of two touching areas reaches under the later (common practice, no source).
OVERLAP_MM = 0.2
# Under a narrow later area it reaches less, so that it does not come out on the far side.
OVERLAP_SHARE = 0.35
# Holes narrower than this under a later area are sewn over: rows run on and no rim shows.
CLOSE_HOLE_MM = 1.6
# Slots are joined over seams of rounding, and what is left of a hole below this is sewn over.
WELD_MM = 0.01
ROUGH_MM = 0.06
LEAST_SLOT_MM2 = 0.3
SMALLEST_HOLE_MM2 = 0.1


def pull_share(width_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the share of a cloth's full pull that a stitch of this width meets, 0.3 to 1.

    Parameters
    ----------
    width_mm : (n,) float64 [mm]

    Returns
    -------
    (n,) float64
        1 from 7 mm on.

    Notes
    -----
    Logarithm fitted to our own membrane model (narrowing 0.084, 0.115, 0.142, 0.167 mm at widths
    1, 2, 4, 7 mm); published columns narrow in the same order, figures not read.
    """
    return np.clip(0.5 + 0.26 * np.log(np.maximum(width_mm, 1e-3)), 0.3, 1.0)


def reach_under(
    polygons: Sequence[shapely.Polygon], pairs: list[tuple[int, int]], order: list[int]
) -> list[shapely.Polygon]:
    """Return each area grown by ``OVERLAP_MM`` into the touching areas that are sewn later.

    Parameters
    ----------
    polygons : sequence of shapely.Polygon
    pairs : list of (int, int)
        Touching areas.
    order : list of int
        Positions in sewing order.
    """
    return [
        _grow(polygon, later)
        for polygon, later in zip(polygons, _later(polygons, pairs, order), strict=True)
    ]


def close_under(
    polygons: Sequence[shapely.Polygon], pairs: list[tuple[int, int]], order: list[int]
) -> list[shapely.Polygon]:
    """Return each area with the slots and holes closed that narrow later areas will cover.

    Outlines, lettering and ticks lie on one even ground, not in a slot with row ends on both its
    sides: fewer stitches, far fewer needle holes, and pull opens nothing.

    Parameters
    ----------
    polygons : sequence of shapely.Polygon
    pairs : list of (int, int)
        Touching areas.
    order : list of int
        Positions in sewing order.
    """
    return [
        _close(polygon, later)
        for polygon, later in zip(polygons, _later(polygons, pairs, order), strict=True)
    ]


def set_outline(
    outline: shapely.Polygon, closed: shapely.Polygon, drawn: shapely.Polygon
) -> shapely.Polygon:
    """Return the outline asked for, with what was closed of the drawn shape closed in it too."""
    if closed is drawn:
        return outline
    joined = shapely.union(outline, shapely.difference(closed, drawn))
    parts = [p for p in shapely.get_parts(joined) if isinstance(p, shapely.Polygon)]
    return max(parts, key=lambda p: p.area) if parts else outline


def _later(
    polygons: Sequence[shapely.Polygon], pairs: list[tuple[int, int]], order: list[int]
) -> list[list[shapely.Polygon]]:
    """Return, for each area, the touching areas sewn after it."""
    when = {k: n for n, k in enumerate(order)}
    later: list[list[shapely.Polygon]] = [[] for _ in polygons]
    for i, j in pairs:
        first, second = (i, j) if when[i] < when[j] else (j, i)
        later[first].append(polygons[second])
    return later


def _close(polygon: shapely.Polygon, later: list[shapely.Polygon]) -> shapely.Polygon:
    if not later:
        return polygon
    half = CLOSE_HOLE_MM / 2
    # Fewer corners first: this is only about where slots are, their rims are the later areas'.
    rough = polygon.simplify(ROUGH_MM)
    closed = rough.buffer(half, quad_segs=4).buffer(ROUGH_MM - half, quad_segs=4)
    slots = shapely.intersection(closed, shapely.union_all(later))
    if slots.area < LEAST_SLOT_MM2:
        return polygon
    whole = _largest(shapely.union(polygon, shapely.buffer(slots, WELD_MM, quad_segs=1)), polygon)
    holes = [ring for ring in whole.interiors if shapely.Polygon(ring).area > SMALLEST_HOLE_MM2]
    return shapely.Polygon(whole.exterior, holes)


def _grow(polygon: shapely.Polygon, later: list[shapely.Polygon]) -> shapely.Polygon:
    if not later:
        return polygon
    return _largest(shapely.union_all([polygon, *(_rim(polygon, o) for o in later)]), polygon)


def _largest(grown: shapely.Geometry, polygon: shapely.Polygon) -> shapely.Polygon:
    largest = max(shapely.get_parts(shapely.buffer(grown, 0)), key=lambda p: p.area)
    return largest if isinstance(largest, shapely.Polygon) else polygon


def _rim(polygon: shapely.Polygon, other: shapely.Polygon) -> shapely.Geometry:
    """Return the strip along a polygon that lies in another area."""
    reach = min(OVERLAP_MM, OVERLAP_SHARE * 2 * other.area / other.length)
    x0, y0, x1, y1 = other.bounds
    near = shapely.clip_by_rect(polygon, x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    return shapely.intersection(shapely.buffer(near, reach, quad_segs=4), other)
