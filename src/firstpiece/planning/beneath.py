"""Areas that are sewn on beneath others: which must come first, and the shape to fill.

Input: areas that may carry ``beneath``. Output: what lies on each of them, and their whole shapes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.region import Region

COVERED = 0.5
"""An area lies on another when this share of it is sewn under by it."""

SEAM_MM = 0.001
"""Outlines that fall together are joined over seams of rounding this wide."""


def lying_on(regions: Sequence[Region]) -> dict[int, set[int]]:
    """Return, for each area that is carried on, the positions of the areas that lie on it."""
    found: dict[int, set[int]] = {}
    for k, region in enumerate(regions):
        if region.beneath is None:
            continue
        found[k] = {
            j
            for j, other in enumerate(regions)
            if other.id != region.id
            and other.polygon.intersects(region.beneath)
            and shapely.intersection(other.polygon, region.beneath).area
            > COVERED * other.polygon.area
        }
    return found


def carried_on(region: Region, shape: shapely.Polygon) -> shapely.Polygon:
    """Return the shape to fill: the area's own, and where it runs on beneath others [mm].

    Where what is beneath does not meet the area, it is left out.
    """
    if region.beneath is None:
        return shape
    wide = shapely.buffer(region.beneath, SEAM_MM, join_style="mitre")
    joined = shapely.union(shape, wide)
    parts = [p for p in shapely.get_parts(joined) if isinstance(p, shapely.Polygon)]
    return max(parts, key=lambda part: part.area)
