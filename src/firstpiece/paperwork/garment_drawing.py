"""The garment with the design in its place and its distance in mm.

In: a garment card, the design, a size. Out: a line drawing on a sheet.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

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
_BESIDE_MM = 16.0
_NEAR_MM = 1e-6

_PLACED = re.compile(r"(top|centre|lower edge) of the design (\d+(?:\.\d+)?) mm (below|above)")
_ACROSS = re.compile(r"(\d+(?:\.\d+)?) mm from the middle")


@dataclass(frozen=True, slots=True)
class GarmentView:
    """How a garment is drawn: how much larger than its usual size, and the design's distance.

    ``distance_mm`` None takes the one that the garment's placement sentence names.
    """

    growth: float = 1.0
    distance_mm: float | None = None


class Place(NamedTuple):
    """Where a design's centre stands, round the garment's reference point [mm].

    ``distance`` is the one that the placement sentence names, from a mark at the height ``mark_y``;
    None when it names none. ``across`` is the one that it names from the garment's middle.
    """

    x: float
    y: float
    distance: float | None
    mark_y: float = 0.0
    across: float | None = None

    def span(self, height_mm: float) -> tuple[float, float]:
        """Return the heights of the mark and of the design's edge or middle it is measured to."""
        down = self.y - self.mark_y
        if self.distance is None or abs(abs(down) - self.distance) < _NEAR_MM:
            return self.mark_y, self.y
        return self.mark_y, self.y - math.copysign(0.5 * height_mm, down)


def place_design(garment: Garment, height_mm: float, view: GarmentView | None = None) -> Place:
    """Return where the design goes on a garment.

    Parameters
    ----------
    garment : Garment
        Its placement sentence is read for "top, centre or lower edge of the design … mm below or
        above", and for "… mm from the middle"; one without the former centres the design.
    height_mm : float [mm]
    view : GarmentView or None
        Another size than the usual one.
    """
    view = view or GarmentView()
    outline = garment_outline(garment.kind)
    x = outline.axis_x * view.growth
    said = _PLACED.search(garment.placement)
    if said is None:
        return Place(x, 0.0, None)
    across = float(told[1]) if (told := _ACROSS.search(garment.placement)) else None
    if across is not None:
        # The wearer's left is at the right of a garment that lies before us.
        x = outline.middle_x * view.growth + across
    mark_y = outline.shoulder_y * view.growth if "shoulder" in garment.placement else 0.0
    distance = float(said[2]) if view.distance_mm is None else view.distance_mm
    edge_y = mark_y + (distance if said[3] == "above" else -distance)
    to_centre = {"top": -0.5, "centre": 0.0, "lower edge": 0.5}[said[1]]
    return Place(x, edge_y + to_centre * height_mm, distance, mark_y, across)


@dataclass(frozen=True, slots=True)
class _Scene:
    """The garment, its seams, the design's box and the part to be shown, in mm round the mark."""

    cloth: BaseGeometry
    seams: BaseGeometry
    place: Place
    view: shapely.Polygon

    def scale(self, width: float, height: float) -> float:
        """Return how large it is drawn to fit a box with room for the distance at the right."""
        left, bottom, right, top = self.bounds
        return min((width - _BESIDE_MM) / (right - left), (height - 2) / (top - bottom))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of what is shown."""
        left, bottom, right, top = self.view.bounds
        return float(left), float(bottom), float(right), float(top)


def _set_scene(garment: Garment, region_map: RegionMap, seen: GarmentView | None) -> _Scene:
    outline = garment_outline(garment.kind)
    size = (region_map.width_mm, region_map.height_mm)
    place = place_design(garment, size[1], seen)
    growth = seen.growth if seen else 1.0
    cloth, seams = (
        affinity.scale(drawn, growth, growth, origin=(0, 0))
        for drawn in (
            shapely.union_all([shapely.Polygon(ring) for ring in outline.cloth]),
            shapely.MultiLineString(list(outline.seams)),
        )
    )
    x, y = place.x, place.y
    design = shapely.box(x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2)
    view = _view(cloth.union(seams), design, outline.shown_half_mm)
    return _Scene(cloth, seams, place, shapely.box(*view.union(design).bounds))


def drawn_height_mm(
    width: float, garment: Garment, region_map: RegionMap, seen: GarmentView | None = None
) -> float:
    """Return how tall a garment is drawn when only the width of its box is given [mm]."""
    scene = _set_scene(garment, region_map, seen)
    _left, bottom, _right, top = scene.bounds
    return scene.scale(width, math.inf) * (top - bottom) + 2.0


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
    scene = _set_scene(garment, region_map, seen)
    cloth, seams, view, place = scene.cloth, scene.seams, scene.view, scene.place
    left, bottom, right, top = scene.bounds
    scale = scene.scale(box[2], box[3])
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
    center = (origin[0] + scale * place.x, origin[1] + scale * place.y)
    if place.distance is not None or "centred" in garment.placement.lower():
        # A place in other words is left to its sentence: drawn anywhere it would be wrong.
        draw_design(sheet, region_map, center, scale)
    if place.distance is not None:
        low, high = (origin[1] + scale * v for v in place.span(region_map.height_mm))
        at = center[0] + scale * region_map.width_mm / 2 + 2.0
        outside = max(origin[0] + scale * cloth.intersection(view).bounds[2], at) + 2.0
        label = say_length(place.distance, unit)
        _draw_distance(sheet, (at, outside), (low, high), label, _seam_rgb(garment))
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
