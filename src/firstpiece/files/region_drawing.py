"""The cleaned design as ``regions.svg``: one path per area, true size in millimetres.

SVG's y axis points down, so y changes its sign here; the origin stays at the painted box's centre.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

import numpy as np

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.region import Region, RegionMap

DIGITS = 3
"""Decimals of a millimetre: 1 µm, far below what a needle can place."""


def write_regions_svg(region_map: RegionMap) -> str:
    """Return the drawing; every path carries ``data-id`` and its thread's name as title."""
    width, height = _number(region_map.width_mm), _number(region_map.height_mm)
    left, top = _number(-region_map.width_mm / 2), _number(-region_map.height_mm / 2)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="{left} {top} {width} {height}">',
        *(_path(region_map, region) for region in region_map.regions),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _path(region_map: RegionMap, region: Region) -> str:
    if region.is_bare:
        title, paint = "bare cloth", 'fill="none" class="bare"'
    else:
        thread = region_map.thread_of(region)
        title, paint = thread.name, f'fill="{thread.hex}" data-thread={quoteattr(thread.name)}'
    return (
        f'<path data-id="{region.id}" {paint} fill-rule="evenodd" '
        f'd="{_outline(region.polygon)}"><title>{escape(title)}</title></path>'
    )


def _outline(polygon: shapely.Polygon) -> str:
    rings = (polygon.exterior, *polygon.interiors)
    return " ".join(_ring(np.asarray(ring.coords)[:-1, :2]) for ring in rings)


def _ring(points_mm: NDArray[np.float64]) -> str:
    flipped = points_mm * (1.0, -1.0)
    return "M" + " L".join(f"{_number(x)},{_number(y)}" for x, y in flipped.tolist()) + " Z"


def _number(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
