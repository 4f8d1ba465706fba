"""Areas taken out and shapes laid in: what letters, ornaments and mirrored halves are moved by.

Input: a design, the areas that go and the shapes that come. Output: the design, still a partition;
where an area went its surroundings close, where a shape comes it covers what is there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.patchwork import GRID_MM, assemble, cut_areas, give_away
from firstpiece.model.region import Region

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from firstpiece.geometry.contours import Area
    from firstpiece.model.lettering import LetterPlace
    from firstpiece.model.region import RegionMap


@dataclass(frozen=True, slots=True, eq=False)
class LaidShape:
    """A shape to be laid into the design under a number of its own or of an area that goes."""

    number: int
    shape: Area
    color_index: int
    letter: LetterPlace | None = None


def lay_shapes(
    region_map: RegionMap, going: Iterable[int], coming: Sequence[LaidShape], *, next_id: int
) -> RegionMap:
    """Return the design with some areas gone and shapes laid in, the later over the earlier.

    Parameters
    ----------
    region_map : RegionMap
    going : iterable of int
        Numbers of areas that are taken out first.
    coming : sequence of LaidShape
    next_id : int
        Lowest number for pieces that the shapes cut off; above those of ``coming``.
    """
    out = frozenset(going)
    patchwork = cut_areas(region_map.regions, [laid.shape.boundary for laid in coming])
    owner = give_away(patchwork, np.isin(patchwork.owner, sorted(out)), out)
    added = {}
    for laid in coming:
        owner[patchwork.within(laid.shape)] = laid.number
        part = max(shapely.get_parts(laid.shape), key=lambda p: p.area)
        added[laid.number] = Region(laid.number, part, laid.color_index, laid.letter)
    return assemble(region_map, patchwork, owner, next_id=next_id, added=added)


def islands_of(region_map: RegionMap, region: Region) -> tuple[Region, ...]:
    """Return the areas that lie inside an area's holes."""
    if not region.polygon.interiors:
        return ()
    holes = shapely.union_all([shapely.Polygon(ring) for ring in region.polygon.interiors])
    reach = shapely.buffer(holes, 2.0 * GRID_MM)
    return tuple(
        r for r in region_map.regions if r.id != region.id and shapely.covers(reach, r.polygon)
    )


def ground_color(region_map: RegionMap, region: Region) -> int | None:
    """Return the colour that surrounds an area for most of its outer edge; None for cloth."""
    rim = shapely.LineString(region.polygon.exterior)
    lengths: dict[int, float] = {}
    for other in region_map.regions:
        if other.id != region.id and other.polygon.intersects(rim):
            length = shapely.intersection(other.polygon.boundary, rim).length
            lengths[other.color_index] = lengths.get(other.color_index, 0.0) + length
    color, length = max(sorted(lengths.items()), key=lambda c: c[1], default=(0, 0.0))
    return color if length > 0.5 * rim.length else None


def shape_with_islands(region_map: RegionMap, region: Region) -> tuple[set[int], list[Region]]:
    """Return the numbers that go when an area is taken out, and its islands that go with it.

    Islands of the surrounding colour (the inside of an O) are only ground that shows through; those
    of a colour of their own belong to the area and are laid in again with it.
    """
    islands = islands_of(region_map, region)
    ground = ground_color(region_map, region)
    own = [r for r in islands if not r.is_bare and r.color_index != ground]
    return {region.id, *(r.id for r in islands)}, own
