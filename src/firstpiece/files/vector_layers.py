"""Layers of paint to opaque shapes: cut to the canvas, translucent ones mixed with what is below.

Input: areas with colour and opacity in painting order. Output: ``PaintedShape`` in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from firstpiece.geometry.contours import Area, areas_of
from firstpiece.model.artwork import PaintedShape

if TYPE_CHECKING:
    from firstpiece.files.vector_style import RGBA
    from firstpiece.model.material import RGB

Box = tuple[float, float, float, float]
"""Left, top, width, height."""

FAINTEST = 0.04
"""Paint of less opacity is not seen; paint that lacks less than this is opaque."""

_WHITE = (255, 255, 255)


@dataclass(frozen=True, slots=True)
class Layer:
    """A painted area with its own colour and opacity, before it is laid over what is below."""

    area: Area
    rgba: RGBA
    is_stroke: bool


def lay_over(layers: list[Layer], canvas: Box | None) -> list[PaintedShape]:
    """Return the shapes inside the canvas, translucent ones over what is below, white at last."""
    frame = None
    if canvas:
        left, top, width, height = canvas
        frame = shapely.box(left, top, left + width, top + height)
    shapes: list[PaintedShape] = []
    for layer in layers:
        area = areas_of(layer.area)
        if frame is not None and not shapely.covers(frame, area):
            area = areas_of(shapely.intersection(area, frame))
        if area.is_empty:
            continue
        if layer.rgba[3] > 1.0 - FAINTEST:
            shapes.append(PaintedShape(area, _mixed(layer.rgba, _WHITE), layer.is_stroke))
        else:
            shapes += _laid_over(area, layer, shapes)
    return shapes


def _laid_over(area: Area, layer: Layer, below: list[PaintedShape]) -> list[PaintedShape]:
    """Split a translucent area by what shows below it; each piece is an opaque mixture."""
    pieces: list[PaintedShape] = []
    rest = area
    for shape in reversed(below):
        if rest.is_empty:
            break
        if not shapely.intersects(shape.area, rest):
            continue
        covered = areas_of(shapely.intersection(rest, shape.area))
        if not covered.is_empty:
            pieces.append(PaintedShape(covered, _mixed(layer.rgba, shape.rgb), layer.is_stroke))
            rest = areas_of(shapely.difference(rest, shape.area))
    if not rest.is_empty:
        pieces.append(PaintedShape(rest, _mixed(layer.rgba, _WHITE), layer.is_stroke))
    return pieces


def _mixed(rgba: RGBA, below: RGB) -> RGB:
    red, green, blue = (
        round(rgba[3] * top + (1.0 - rgba[3]) * under)
        for top, under in zip(rgba[:3], below, strict=True)
    )
    return (red, green, blue)
