"""Widening against pull, and the overlap that keeps cloth from opening between two colours.

Input: areas in sewing order. Output: the shapes to sew, each reaching a little under its later
neighbours of another thread.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

# How far the earlier of two touching areas reaches under the later (common practice, no source).
OVERLAP_MM = 0.3
# Holes narrower than this under a later area are sewn over: rows run on and no rim shows.
CLOSE_HOLE_MM = 1.6


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
    when = {k: n for n, k in enumerate(order)}
    later: list[list[int]] = [[] for _ in polygons]
    for i, j in pairs:
        first, second = (i, j) if when[i] < when[j] else (j, i)
        later[first].append(second)
    return [_grow(polygons[k], [polygons[j] for j in later[k]]) for k in range(len(polygons))]


def _grow(polygon: shapely.Polygon, later: list[shapely.Polygon]) -> shapely.Polygon:
    if not later:
        return polygon
    over = shapely.union_all(later)
    rim = polygon.buffer(OVERLAP_MM, quad_segs=4).intersection(over)
    grown = polygon.union(rim)
    for ring in polygon.interiors:
        hole = shapely.Polygon(ring)
        if hole.buffer(-CLOSE_HOLE_MM / 2).is_empty and over.buffer(0.02).covers(hole):
            grown = grown.union(hole)
    parts = shapely.get_parts(grown.buffer(0))
    largest = max(parts, key=lambda p: p.area)
    return largest if isinstance(largest, shapely.Polygon) else polygon
