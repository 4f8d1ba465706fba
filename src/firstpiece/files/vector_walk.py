"""One walk over an SVG tree: groups, transforms, ``use``, clips and styles become layers of paint.

Input: a parsed document and how finely to flatten. Output: layers in painting order and counts of
what was left out or simplified.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely
from fontTools.misc.transform import Identity, Transform

from firstpiece.errors import PictureError
from firstpiece.files.vector_document import (
    DEEPEST,
    VectorDocument,
    href_of,
    tag_of,
    too_detailed,
)
from firstpiece.files.vector_layers import FAINTEST, Box, Layer
from firstpiece.files.vector_outline import outline_of, stroke_area
from firstpiece.files.vector_style import (
    RGBA,
    Style,
    mean_stop_color,
    number_of,
    parse_color,
    style_of,
)
from firstpiece.files.vector_transform import bad_number, length_of, matrix_of, viewport_matrix
from firstpiece.geometry.contours import Area, areas_of, fill_area

if TYPE_CHECKING:
    from collections.abc import Mapping
    from xml.etree.ElementTree import Element

MOST_SHAPES = 20_000
MOST_POINTS = 2_000_000
MOST_VISITS = 100_000
LARGEST_COORDINATE = 1e7

_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_GROUPS = frozenset({"svg", "g", "a", "switch", "symbol"})
_DRAWN = _SHAPES | _GROUPS | {"use", "text", "image"}
_URL = re.compile(r"url\(\s*[\"']?#([^\"')]+)[\"']?\s*\)\s*(.*)")


@dataclass(slots=True)
class Walk:
    """The state of one pass over a document."""

    document: VectorDocument
    name: str
    tolerance: float
    viewport: tuple[float, float]
    layers: list[Layer] = field(default_factory=list)
    skipped: dict[str, int] = field(default_factory=dict)
    n_visits: int = 0
    n_points: int = 0

    def note(self, what: str) -> None:
        """Count something that was simplified."""
        self.skipped[what] = self.skipped.get(what, 0) + 1


@dataclass(frozen=True, slots=True)
class Place:
    """What an element inherits: style, transform, opacity, clip, and the ``use`` chain."""

    style: Mapping[str, str]
    matrix: Transform
    opacity: float = 1.0
    clip: Area | None = None
    depth: int = 0
    chain: tuple[str, ...] = ()


def paint_document(
    document: VectorDocument, *, name: str, tolerance: float, canvas: Box | None
) -> Walk:
    """Return the finished walk over a whole document.

    Parameters
    ----------
    document : VectorDocument
    name : str
        Shown in errors.
    tolerance : float
        How far flattened curves may stray, in drawing units.
    canvas : Box or None
        What percentages refer to.

    Raises
    ------
    PictureError
        When the drawing is too detailed, repeats itself without end or holds impossible numbers.
    """
    viewport = canvas[2:] if canvas else (100.0, 100.0)
    walk = Walk(document, name, tolerance, viewport)
    style = style_of(document.root, "svg", {}, document.rules)
    place = Place(style, Identity, number_of(style.get("opacity"), 1.0))
    if style.get("display") != "none":
        for child in document.root:
            _visit(walk, child, place)
    return walk


def _visit(walk: Walk, element: Element, parent: Place) -> None:
    """Paint one element and what is inside it."""
    walk.n_visits += 1
    if walk.n_visits > MOST_VISITS or parent.depth > DEEPEST:
        raise too_detailed(walk.name)
    tag = tag_of(element)
    if tag not in _SHAPES and tag not in _GROUPS and tag != "use":
        if tag in ("text", "image", "foreignObject"):
            walk.note("text" if tag == "text" else "image")
        return
    style = style_of(element, tag, parent.style, walk.document.rules)
    if style.get("display") == "none":
        return
    place = _place_of(walk, element, style, parent)
    if tag == "use":
        _visit_use(walk, element, place)
    elif tag in _SHAPES:
        if style.get("visibility", "visible") == "visible":
            _paint_shape(walk, element, tag, place)
    elif tag != "symbol":
        _visit_children(walk, element, tag, place)


def _visit_children(walk: Walk, element: Element, tag: str, place: Place) -> None:
    if tag == "svg":
        inner = place.matrix.transform(viewport_matrix(element))
        place = replace(place, matrix=inner)
    for child in element:
        if tag != "switch":
            _visit(walk, child, place)
        elif tag_of(child) in _DRAWN and not child.get("requiredExtensions"):
            _visit(walk, child, place)
            break


def _place_of(walk: Walk, element: Element, style: Style, parent: Place) -> Place:
    matrix = parent.matrix.transform(matrix_of(element.get("transform", ""), walk.name))
    opacity = parent.opacity * min(max(number_of(style.get("opacity"), 1.0), 0.0), 1.0)
    place = Place(style, matrix, opacity, parent.clip, parent.depth + 1, parent.chain)
    if match := _URL.match(style.get("clip-path", "")):
        place = replace(place, clip=_clip_area(walk, match[1], place))
    for effect in ("filter", "mask"):
        if style.get(effect, "none") != "none":
            walk.note(effect)
    return place


def _visit_use(walk: Walk, element: Element, place: Place) -> None:
    target_id = href_of(element)
    target = walk.document.by_id.get(target_id)
    if target is None:
        walk.note("outside")
        return
    if target_id in place.chain:
        what = _("the drawing repeats “{id}” inside itself without end").format(id=target_id[:40])
        raise PictureError(what, where=walk.name, remedy=_("save it again as plain SVG"))
    x = number_of(element.get("x"), 0.0, whole=walk.viewport[0])
    y = number_of(element.get("y"), 0.0, whole=walk.viewport[1])
    matrix = place.matrix.translate(x, y)
    tag = tag_of(target)
    if tag == "symbol":
        size = (length_of(element.get("width")), length_of(element.get("height")))
        matrix = matrix.transform(viewport_matrix(target, size))
    chain = (*place.chain, target_id)
    inner = replace(place, matrix=matrix, chain=chain)
    if tag == "symbol":
        style = style_of(target, tag, place.style, walk.document.rules)
        _visit_children(walk, target, tag, replace(inner, style=style))
    else:
        _visit(walk, target, inner)


def _clip_area(walk: Walk, clip_id: str, place: Place) -> Area | None:
    """Return what a clip path and the clips around it let through; None lets everything."""
    element = walk.document.by_id.get(clip_id)
    if element is None or tag_of(element) != "clipPath" or clip_id in place.chain:
        return place.clip
    inner = Walk(walk.document, walk.name, walk.tolerance, walk.viewport)
    matrix = place.matrix.transform(matrix_of(element.get("transform", ""), walk.name))
    style = {"fill": "black", "fill-rule": "nonzero"}
    chain = (*place.chain, clip_id)
    for child in element:
        _visit(inner, child, Place(style, matrix, 1.0, None, place.depth + 1, chain))
    walk.n_visits += inner.n_visits
    own = areas_of(shapely.union_all([layer.area for layer in inner.layers]))
    return own if place.clip is None else areas_of(shapely.intersection(place.clip, own))


def _paint_shape(walk: Walk, element: Element, tag: str, place: Place) -> None:
    style, matrix = place.style, place.matrix
    stretch = math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]))
    if not math.isfinite(stretch):
        raise bad_number(walk.name)
    if stretch < 1e-9:
        return
    tolerance = walk.tolerance / stretch
    contours = outline_of(element, tag, tolerance=tolerance, viewport=walk.viewport)
    walk.n_points += sum(len(c.points) for c in contours)
    for contour in contours:
        if not np.isfinite(contour.points).all():
            raise bad_number(walk.name)
    if walk.n_points > MOST_POINTS:
        raise too_detailed(walk.name)
    fill = _paint_color(walk, style.get("fill", "black"), style, "fill-opacity")
    if fill is not None and tag != "line":
        rule = style.get("fill-rule", "nonzero")
        _add_layer(walk, fill_area(contours, rule=rule), fill, place, is_stroke=False)
    stroke = _paint_color(walk, style.get("stroke", "none"), style, "stroke-opacity")
    diagonal = math.hypot(*walk.viewport) / math.sqrt(2.0)
    width = number_of(style.get("stroke-width"), 1.0, whole=diagonal)
    if stroke is not None and width > 0:
        area = stroke_area(contours, style, width=width, tolerance=tolerance)
        _add_layer(walk, area, stroke, place, is_stroke=True)


def _add_layer(walk: Walk, area: Area, rgba: RGBA, place: Place, *, is_stroke: bool) -> None:
    alpha = rgba[3] * place.opacity
    if area.is_empty or alpha < FAINTEST:
        return
    if len(walk.layers) >= MOST_SHAPES:
        raise too_detailed(walk.name)
    placed = _placed(area, place.matrix, walk.name)
    if place.clip is not None:
        placed = areas_of(shapely.intersection(placed, place.clip))
    if placed.area > 0:
        walk.layers.append(Layer(placed, (*rgba[:3], alpha), is_stroke))


def _placed(area: Area, matrix: Transform, name: str) -> Area:
    """Return the area in drawing units, mended where the transform's rounding crossed its edge."""
    turn = np.array([[matrix[0], matrix[1]], [matrix[2], matrix[3]]])
    shift = np.array([matrix[4], matrix[5]])
    placed: Area = shapely.transform(area, lambda xy: xy @ turn + shift)
    if not all(math.isfinite(v) and abs(v) <= LARGEST_COORDINATE for v in placed.bounds):
        raise bad_number(name)
    if placed.is_valid:
        return placed
    return areas_of(shapely.make_valid(placed, method="structure", keep_collapsed=False))


def _paint_color(walk: Walk, text: str, style: Mapping[str, str], opacity_key: str) -> RGBA | None:
    """Return the colour of a fill or stroke; gradients become their mean."""
    color: RGBA | None
    if match := _URL.match(text):
        color = _server_color(walk, match[1])
        if color is None:
            color = parse_color(match[2], style)
    else:
        color = parse_color(text, style)
    if color is None:
        return None
    opacity = min(max(number_of(style.get(opacity_key), 1.0), 0.0), 1.0)
    return (*color[:3], color[3] * opacity)


def _server_color(walk: Walk, server_id: str) -> RGBA | None:
    """Return the mean colour of a gradient, following its references; None for anything else."""
    seen: set[str] = set()
    element = walk.document.by_id.get(server_id)
    while element is not None and server_id not in seen:
        seen.add(server_id)
        tag = tag_of(element)
        if tag == "pattern":
            walk.note("pattern")
            return None
        stops = _stops(walk, element)
        if stops:
            # A gradient between two equal colours is a flat fill by another name.
            if len({stop[1] for stop in stops}) > 1:
                walk.note("gradient")
            return mean_stop_color(stops)
        server_id = href_of(element)
        element = walk.document.by_id.get(server_id)
    return None


def _stops(walk: Walk, element: Element) -> list[tuple[float, RGBA]]:
    stops: list[tuple[float, RGBA]] = []
    for child in element:
        if tag_of(child) != "stop":
            continue
        style = style_of(child, "stop", {}, walk.document.rules)
        color = parse_color(style.get("stop-color", "black"), style) or (0.0, 0.0, 0.0, 1.0)
        opacity = min(max(number_of(style.get("stop-opacity"), 1.0), 0.0), 1.0)
        offset = number_of(child.get("offset"), 0.0)
        stops.append((offset, (*color[:3], color[3] * opacity)))
    return stops
