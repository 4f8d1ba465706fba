"""An area takes another shape: neighbours give what it gains and take what it loses.

Input: a design, an area and its new shape. Output: the design, still a partition. What is left is
shared out so that each neighbour grows towards its own stretch of the old edge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.patchwork import GRID_MM, NOTHING, assemble, cut_areas, give_away
from firstpiece.geometry.contours import Area, areas_of

if TYPE_CHECKING:
    from firstpiece.model.region import Region, RegionMap

MOST_RIM_POINTS = 2000
THIN_MM = 5.0
"""Areas narrower than this everywhere are drawn over something that goes on beneath them."""

GOLDEN = 0.6180339887498949


def reshape_area(
    region_map: RegionMap,
    region: Region,
    shape: shapely.Geometry,
    *,
    next_id: int,
    may_take: frozenset[int] | None = None,
    rim_mm: float = 0.0,
) -> RegionMap:
    """Return the design with one area in a new shape.

    Parameters
    ----------
    region_map : RegionMap
    region : Region
    shape : shapely.Polygon or shapely.MultiPolygon [mm]
        In several pieces, the largest keeps the number and the others become areas of their own.
    next_id : int
    may_take : frozenset of int or None
        Numbers of the areas (and ``NOTHING``) the area may grow into; None: into any.
    rim_mm : float [mm]
        Width of a rim given up all round, which goes to whichever neighbour is nearest; 0 where
        the edge only moves here and there and each piece goes to one neighbour.
    """
    wanted = areas_of(shape)
    cells = _cells(region_map, region, rim_mm) if rim_mm > 0.0 else {}
    between = [shapely.intersection(c.boundary, region.polygon) for c in cells.values()]
    seams = between or _seams(region_map, region, wanted)
    patchwork = cut_areas(region_map.regions, [wanted.boundary, *seams])
    within = patchwork.within(wanted)
    mine = patchwork.owner == region.id
    free = np.ones(len(mine), dtype=bool)
    if may_take is not None:
        free = np.isin(patchwork.owner, sorted({*may_take, region.id}))
    lost = mine & ~within
    owner = give_away(patchwork, lost, frozenset({region.id}))
    for number, cell in cells.items():
        owner[lost & patchwork.within(cell)] = number
    owner[within & free] = region.id
    return assemble(region_map, patchwork, owner, next_id=next_id)


def share_out(
    region_map: RegionMap, region: Region, *, next_id: int
) -> tuple[RegionMap, tuple[int, ...]]:
    """Return the design without an area, and who took its place, those who took most first.

    A wide area goes as a whole to the neighbour (or cloth) it shares most edge with. A thin one, as
    a ladder over grass and wall, goes piece by piece to whatever is nearest.
    """
    widest = 2.0 * shapely.maximum_inscribed_circle(region.polygon, tolerance=0.05).length
    cells = _cells(region_map, region, 0.0) if widest < THIN_MM else {}
    seams = [shapely.intersection(c.boundary, region.polygon) for c in cells.values()]
    patchwork = cut_areas(region_map.regions, seams)
    lost = patchwork.owner == region.id
    owner = give_away(patchwork, lost, frozenset({region.id}))
    for number, cell in cells.items():
        owner[lost & patchwork.within(cell)] = number
    sizes: dict[int, float] = {}
    areas = shapely.area(patchwork.faces[lost])
    for number, mm2 in zip(owner[lost].tolist(), areas.tolist(), strict=True):
        sizes[number] = sizes.get(number, 0.0) + mm2
    takers = sorted(sizes, key=lambda number: (-sizes[number], number))
    return assemble(region_map, patchwork, owner, next_id=next_id), tuple(takers)


def _seams(region_map: RegionMap, region: Region, wanted: Area) -> list[shapely.Geometry]:
    """Return cuts from where the area's neighbours change to its new edge, across what it leaves.

    Without them a rim given up all round would go to one neighbour.
    """
    if wanted.is_empty:
        return []
    edge = wanted.boundary
    return [
        shapely.shortest_line(junction, edge)
        for junction in shapely.get_parts(junctions(region_map, region))
        if not shapely.covers(wanted, junction)
    ]


def _cells(region_map: RegionMap, region: Region, rim_mm: float) -> dict[int, Area]:
    """Return the parts of an area that are nearest to each neighbour, and to cloth outside.

    They are the Voronoi cells of points along the area's edge, joined by neighbour.
    """
    rim = region.polygon.boundary
    line = shapely.segmentize(rim, max(0.25 * rim_mm, 0.1, rim.length / MOST_RIM_POINTS))
    points = np.unique(np.round(shapely.get_coordinates(line) / GRID_MM) * GRID_MM, axis=0)
    spots = shapely.points(points)
    beside = np.full(len(points), NOTHING, dtype=np.int64)
    for other in reversed(region_map.regions):
        if other.id != region.id and other.polygon.intersects(rim):
            beside[shapely.dwithin(other.polygon, spots, 2.0 * GRID_MM)] = other.id
    # Four corners of a rectangle lie on one circle, where the diagram is not defined: every point
    # is moved by less than a grid step, always the same way.
    shake = np.modf(np.arange(2 * len(points)) * GOLDEN)[0].reshape(-1, 2) - 0.5
    cells = shapely.get_parts(
        shapely.voronoi_polygons(
            shapely.MultiPoint(points + GRID_MM * shake), extend_to=region.polygon, ordered=True
        )
    )
    return {
        number: areas_of(shapely.union_all(cells[beside == number]))
        for number in np.unique(beside).tolist()
    }


def junctions(region_map: RegionMap, region: Region) -> shapely.Geometry:
    """Return the points of an area's edge where its neighbours change [mm]."""
    others = [r.polygon for r in region_map.regions if r.id != region.id]
    rim = region.polygon.boundary
    near = [p for p in others if shapely.intersects(p, rim)]
    shared = [shapely.intersection(p.boundary, rim) for p in near]
    free = shapely.difference(rim, shapely.union_all(near)) if near else shapely.LineString()
    ends = [_ends(piece) for piece in (*shared, free)]
    return shapely.union_all([end for end in ends if not shapely.is_empty(end)])


def _ends(shared: shapely.Geometry) -> shapely.Geometry:
    lines = [p for p in shapely.get_parts(shared) if p.geom_type == "LineString" and p.length > 0]
    if not lines:
        return shapely.Point()
    ends = shapely.boundary(shapely.line_merge(shapely.union_all(lines)))
    return shapely.Point() if ends is None else ends
