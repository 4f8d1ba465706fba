"""The cleaned areas as plain values for the page: what each is, where it lies, what touches it.

Input: a ``RegionMap`` after a person's edits. Output: JSON-ready values (units in the names). Runs
in the worker, before planning, so that areas can be worked on while stitches are still planned.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely

from firstpiece.briefing.draft import place_words, point_inside
from firstpiece.editing.letters_found import find_letters
from firstpiece.editing.symmetry import find_symmetries

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.region import Region, RegionMap

Object = dict[str, Any]

AREAS_VERSION = 1

TOUCHING_MM = 0.02
"""Areas nearer than this share an edge; edges are kept to a thousandth of a millimetre."""

MOST_SYMMETRIES = 3


def areas_object(region_map: RegionMap) -> Object:
    """Return everything the page says about the areas themselves.

    Parameters
    ----------
    region_map : RegionMap
        After the edits.
    """
    regions = region_map.regions
    neighbours = _neighbours(regions)
    return {
        "version": AREAS_VERSION,
        "width_mm": round(region_map.width_mm, 3),
        "height_mm": round(region_map.height_mm, 3),
        "areas": [_area(region_map, r, neighbours[r.id]) for r in regions],
        "letters": [
            {
                "letters": len(row.letters),
                "areas": [number for letter in row.letters for number in letter],
                "height_mm": round(row.height_mm, 2),
                "off_line_mm": round(row.off_line_mm, 2),
            }
            for row in find_letters(region_map)
        ],
        "symmetries": [
            {
                "centre_mm": [round(v, 4) for v in found.centre_mm],
                "angle_rad": found.angle_rad,
                "fold": found.fold,
                "error_mm": round(found.error_mm, 3),
            }
            for found in find_symmetries(region_map)[:MOST_SYMMETRIES]
        ],
    }


def _area(region_map: RegionMap, region: Region, touching: list[int]) -> Object:
    x, y = point_inside(region)
    left, bottom, right, top = region.polygon.bounds
    thread = None if region.is_bare else region_map.thread_of(region)
    return {
        "id": region.id,
        "is_bare": region.is_bare,
        "thread": thread.name if thread else "",
        "hex": thread.hex if thread else "",
        "at_mm": [round(x, 3), round(y, 3)],
        "place": place_words((x, y), region_map),
        "box_mm": [round(v, 3) for v in (left, bottom, right, top)],
        "area_mm2": round(region.polygon.area, 2),
        "is_line": bool(region.lines),
        "is_kept_beneath": region.beneath is not None,
        "touches": touching,
    }


def _neighbours(regions: Sequence[Region]) -> dict[int, list[int]]:
    """Return the areas that share an edge with each, by number, in order."""
    polygons = [r.polygon for r in regions]
    found: dict[int, list[int]] = {r.id: [] for r in regions}
    tree = shapely.STRtree(polygons)
    for a, b in zip(*tree.query(polygons, predicate="dwithin", distance=TOUCHING_MM), strict=True):
        if a != b:
            found[regions[a].id].append(regions[b].id)
    return {number: sorted(touching) for number, touching in found.items()}
