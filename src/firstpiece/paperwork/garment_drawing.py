"""The garment with the design in its place and its distance in mm.

In: a garment card, the design, a size. Out: a line drawing on a sheet.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from firstpiece.model.page import INK
from firstpiece.paperwork.design_drawing import draw_design
from firstpiece.paperwork.form import say_length
from firstpiece.paperwork.garment_shapes import garment_outline
from firstpiece.paperwork.sheet import CAPTION, LABEL, Face

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from firstpiece.model.material import RGB, Garment
    from firstpiece.model.region import RegionMap
    from firstpiece.paperwork.sheet import Sheet

# How much of a garment's length is drawn when it is longer than that.
_SHOWN_MM = 480.0

_PLACED = re.compile(r"(top|centre|lower edge) of the design (\d+(?:\.\d+)?) mm (below|above)")


@dataclass(frozen=True, slots=True)
class GarmentView:
    """How a garment is drawn: how much larger than its usual size, and the design's distance.

    ``distance_mm`` None takes the one that the garment's placement sentence names.
    """

    growth: float = 1.0
    distance_mm: float | None = None


def place_design(
    garment: Garment, height_mm: float, view: GarmentView | None = None
) -> tuple[float, float, float | None]:
    """Return the design's centre from the garment's reference point, and the distance named.

    Parameters
    ----------
    garment : Garment
        Its placement sentence is read for "top, centre or lower edge of the design … mm below or
        above"; a sentence without it centres the design.
    height_mm : float [mm]
    view : GarmentView or None
        Another size than the usual one.

    Returns
    -------
    x, y : float [mm]
    distance : float or None [mm]
    """
    view = view or GarmentView()
    axis_x = garment_outline(garment.kind).axis_x * view.growth
    said = _PLACED.search(garment.placement)
    if said is None:
        return axis_x, 0.0, None
    distance = float(said[2]) if view.distance_mm is None else view.distance_mm
    edge_y = distance if said[3] == "above" else -distance
    to_centre = {"top": -0.5, "centre": 0.0, "lower edge": 0.5}[said[1]]
    return axis_x, edge_y + to_centre * height_mm, distance


def draw_garment(
    sheet: Sheet,
    box: tuple[float, float, float, float],
    garment: Garment,
    region_map: RegionMap,
    *,
    unit: str,
    seen: GarmentView | None = None,
) -> float:
    """Draw the part of the garment round the design at the top of a box; return the y below.

    ``box`` is left, bottom, width, height [mm].
    """
    outline = garment_outline(garment.kind)
    size = (region_map.width_mm, region_map.height_mm)
    x, y, distance = place_design(garment, size[1], seen)
    growth = seen.growth if seen else 1.0
    cloth, seams = (
        affinity.scale(drawn, growth, growth, origin=(0, 0))
        for drawn in (
            shapely.union_all([shapely.Polygon(ring) for ring in outline.cloth]),
            shapely.MultiLineString(list(outline.seams)),
        )
    )
    design = shapely.box(x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2)
    view = _view(cloth.union(seams), design, outline.shown_half_mm)
    left, bottom, right, top = view.union(design).bounds
    scale = min((box[2] - 16) / (right - left), (box[3] - 2) / (top - bottom))
    origin = np.array(
        [box[0] + (box[2] - 10) / 2 - scale * (left + right) / 2,
         box[1] + box[3] - 1.0 - scale * top]
    )  # fmt: skip
    for part in shapely.get_parts(cloth.intersection(view)):
        sheet.shape([_moved(part.exterior.coords, origin, scale)], fill=garment.rgb)
    _draw_lines(sheet, cloth.boundary.intersection(view), origin, scale)
    inside = seams.intersection(cloth).intersection(view)
    _draw_lines(sheet, inside, origin, scale, _seam_rgb(garment))
    _draw_lines(sheet, seams.difference(cloth).intersection(view), origin, scale)
    center = (origin[0] + scale * x, origin[1] + scale * y)
    draw_design(sheet, region_map, center, scale)
    if distance is not None:
        edge = y - math.copysign(0.5 * size[1], y) if abs(abs(y) - distance) > 1e-6 else y
        span = (origin[1], origin[1] + scale * edge)
        at = center[0] + scale * size[0] / 2 + 2.0
        outside = max(origin[0] + scale * cloth.intersection(view).bounds[2], at) + 2.0
        _draw_distance(sheet, (at, outside), span, say_length(distance, unit), _seam_rgb(garment))
    return float(origin[1] + scale * bottom)


def _view(garment: BaseGeometry, design: shapely.Polygon, half_mm: float) -> shapely.Polygon:
    """Return the part of a garment to show, from its top to well below the design.

    A whole shirt would leave the design too small to see; a towel or a mat is shown whole.
    """
    left, bottom, right, top = (float(v) for v in garment.buffer(1.0).bounds)
    x0, low, x1, high = design.bounds
    if high - bottom > _SHOWN_MM and top - low < _SHOWN_MM:
        bottom = max(bottom, min(low - 60.0, top - _SHOWN_MM))
    middle, half = (x0 + x1) / 2, max(half_mm, (x1 - x0) / 2 + 20.0)
    return shapely.box(max(left, middle - half), bottom, min(right, middle + half), top)


def _draw_lines(
    sheet: Sheet,
    lines: BaseGeometry,
    origin: NDArray[np.float64],
    scale: float,
    rgb: RGB = INK,
) -> None:
    """Draw every line of a geometry."""
    for part in shapely.get_parts(lines):
        if isinstance(part, shapely.LineString) and part.length > 0:
            sheet.shape([_moved(part.coords, origin, scale)], stroke=rgb, closed=False)


def _draw_distance(
    sheet: Sheet, at: tuple[float, float], span: tuple[float, float], label: str, rgb: RGB
) -> None:
    """Draw a dimension line at the first x over a span of y, its length at the second x."""
    x, outside = at
    sheet.line(x, span[0], x, span[1], rgb)
    for y in span:
        sheet.line(x - 1.2, y, x + 1.2, y, rgb)
    middle = (span[0] + span[1]) / 2
    sheet.line(x, middle, outside - 0.8, middle, LABEL)
    sheet.text(outside, middle - 0.8, label, Face(CAPTION.size_pt, "bold"))


def _seam_rgb(garment: Garment) -> RGB:
    """Return ink that shows on the garment: dark on light cloth, light on dark."""
    luma = 0.2126 * garment.rgb[0] + 0.7152 * garment.rgb[1] + 0.0722 * garment.rgb[2]
    return INK if luma > 110 else (240, 238, 232)


def _moved(
    points: Iterable[tuple[float, ...]], origin: NDArray[np.float64], scale: float
) -> NDArray[np.float64]:
    moved: NDArray[np.float64] = np.array(list(points), dtype=np.float64) * scale + origin
    return moved
