"""The cleaned design as flat vector areas, at any scale and place on a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.page import INK

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB
    from firstpiece.model.region import RegionMap
    from firstpiece.paperwork.sheet import Sheet

# Points closer than this on paper cannot be seen apart.
_FINEST_MM = 0.04


def polygon_rings(
    polygon: shapely.Polygon, origin: tuple[float, float], scale: float
) -> tuple[NDArray[np.float64], ...]:
    """Return a polygon's rings on the sheet, (n, 2) float64 [mm] each."""
    thinner = polygon.simplify(_FINEST_MM / scale)
    thin = thinner if isinstance(thinner, shapely.Polygon) and not thinner.is_empty else polygon
    rings = (thin.exterior, *thin.interiors)
    return tuple(np.asarray(r.coords)[:-1] * scale + np.asarray(origin) for r in rings)


def draw_design(
    sheet: Sheet, region_map: RegionMap, origin: tuple[float, float], scale: float
) -> None:
    """Draw each sewn area in its thread's colour; ``origin`` is the design's centre."""
    for region in region_map.sewn_regions:
        rings = polygon_rings(region.polygon, origin, scale)
        sheet.shape(rings, fill=region_map.thread_of(region).rgb)


def draw_cover_map(
    sheet: Sheet, region_map: RegionMap, origin: tuple[float, float], scale: float
) -> None:
    """Draw thread areas dark, bare cloth inside the design white, all with hairlines."""
    dark: RGB = (150, 142, 130)
    for region in region_map.regions:
        fill = (255, 255, 255) if region.is_bare else dark
        sheet.shape(polygon_rings(region.polygon, origin, scale), fill=fill, stroke=INK,
            stroke_mm=0.08)  # fmt: skip


def scale_to_fit(size_mm: tuple[float, float], room_mm: tuple[float, float]) -> float:
    """Return the largest scale, at most 1, at which a size fits into a room."""
    return min(1.0, *(r / s if s > 0 else 1.0 for s, r in zip(size_mm, room_mm, strict=True)))
