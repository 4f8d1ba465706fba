"""SVG shapes to areas: outlines flattened finely, filled by their rule, strokes widened.

Input: an element's geometry attributes. Output: shapely polygons in the element's own coordinates.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from typing import TYPE_CHECKING, Literal

import numpy as np
import shapely
from fontTools.svgLib.path import parse_path
from shapely.ops import substring

from firstpiece.files.vector_style import number_of
from firstpiece.geometry.contours import Area, Contour, FlatteningPen, areas_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from xml.etree.ElementTree import Element


MOST_DASHES = 2000
_CAPS: dict[str, Literal["flat", "round", "square"]] = {
    "butt": "flat",
    "round": "round",
    "square": "square",
}
_JOINS: dict[str, Literal["mitre", "round", "bevel"]] = {
    "miter": "mitre",
    "round": "round",
    "bevel": "bevel",
}
_FLOATS = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
# Control distance of a cubic that follows a quarter circle to 0.03 % of its radius.
_KAPPA = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)


def outline_of(
    element: Element, tag: str, *, tolerance: float, viewport: tuple[float, float]
) -> list[Contour]:
    """Return the contours of a path or basic shape; empty when it draws nothing.

    Parameters
    ----------
    element : Element
    tag : str
        ``path``, ``rect``, ``circle``, ``ellipse``, ``line``, ``polyline`` or ``polygon``.
    tolerance : float
        In the element's units.
    viewport : tuple of float
        Width and height that percentages refer to.
    """
    pen = FlatteningPen(tolerance)
    if tag == "path":
        _draw_path(element.get("d", ""), pen)
    elif tag == "rect":
        _draw_rectangle(element, pen, viewport)
    elif tag in ("circle", "ellipse"):
        _draw_ellipse(element, tag, pen, viewport)
    else:
        _draw_polyline(element, tag, pen, viewport)
    return [c for c in pen.contours if len(c.points)]


def _draw_path(text: str, pen: FlatteningPen) -> None:
    # SVG 1.1, F.2: what comes before a mistake is still drawn.
    with suppress(ValueError, IndexError, TypeError, AssertionError, ArithmeticError):
        parse_path(re.sub(r"\s+", " ", text).strip(), pen)
    pen.endPath()


def _draw_rectangle(element: Element, pen: FlatteningPen, viewport: tuple[float, float]) -> None:
    x, y, width, height = (
        number_of(element.get(key), 0.0, whole=whole)
        for key, whole in zip(("x", "y", "width", "height"), viewport * 2, strict=True)
    )
    if width <= 0 or height <= 0:
        return
    rx, ry = element.get("rx"), element.get("ry")
    round_x = min(max(number_of(rx if rx is not None else ry, 0.0), 0.0), width / 2)
    round_y = min(max(number_of(ry if ry is not None else rx, 0.0), 0.0), height / 2)
    right, bottom = x + width, y + height
    if round_x == 0 or round_y == 0:
        _polygon(pen, [(x, y), (right, y), (right, bottom), (x, bottom)])
        return
    kx, ky = round_x * (1 - _KAPPA), round_y * (1 - _KAPPA)
    pen.moveTo((x + round_x, y))
    pen.lineTo((right - round_x, y))
    pen.curveTo((right - kx, y), (right, y + ky), (right, y + round_y))
    pen.lineTo((right, bottom - round_y))
    pen.curveTo((right, bottom - ky), (right - kx, bottom), (right - round_x, bottom))
    pen.lineTo((x + round_x, bottom))
    pen.curveTo((x + kx, bottom), (x, bottom - ky), (x, bottom - round_y))
    pen.lineTo((x, y + round_y))
    pen.curveTo((x, y + ky), (x + kx, y), (x + round_x, y))
    pen.closePath()


def _draw_ellipse(
    element: Element, tag: str, pen: FlatteningPen, viewport: tuple[float, float]
) -> None:
    width, height = viewport
    cx = number_of(element.get("cx"), 0.0, whole=width)
    cy = number_of(element.get("cy"), 0.0, whole=height)
    if tag == "circle":
        diagonal = math.hypot(width, height) / math.sqrt(2.0)
        rx = ry = number_of(element.get("r"), 0.0, whole=diagonal)
    else:
        rx = number_of(element.get("rx"), 0.0, whole=width)
        ry = number_of(element.get("ry"), 0.0, whole=height)
    if rx <= 0 or ry <= 0:
        return
    kx, ky = rx * _KAPPA, ry * _KAPPA
    pen.moveTo((cx + rx, cy))
    pen.curveTo((cx + rx, cy + ky), (cx + kx, cy + ry), (cx, cy + ry))
    pen.curveTo((cx - kx, cy + ry), (cx - rx, cy + ky), (cx - rx, cy))
    pen.curveTo((cx - rx, cy - ky), (cx - kx, cy - ry), (cx, cy - ry))
    pen.curveTo((cx + kx, cy - ry), (cx + rx, cy - ky), (cx + rx, cy))
    pen.closePath()


def _draw_polyline(
    element: Element, tag: str, pen: FlatteningPen, viewport: tuple[float, float]
) -> None:
    if tag == "line":
        numbers = [
            number_of(element.get(key), 0.0, whole=whole)
            for key, whole in zip(("x1", "y1", "x2", "y2"), viewport * 2, strict=True)
        ]
    else:
        numbers = [float(n) for n in _FLOATS.findall(element.get("points", ""))]
    points = list(zip(numbers[::2], numbers[1::2], strict=False))
    if len(points) < 2:
        return
    if tag == "polygon":
        _polygon(pen, points)
        return
    pen.moveTo(points[0])
    for point in points[1:]:
        pen.lineTo(point)
    pen.endPath()


def _polygon(pen: FlatteningPen, points: list[tuple[float, float]]) -> None:
    pen.moveTo(points[0])
    for point in points[1:]:
        pen.lineTo(point)
    pen.closePath()


def stroke_area(
    contours: list[Contour], style: Mapping[str, str], *, width: float, tolerance: float
) -> Area:
    """Return what a pen of the stroke's width, caps and joins paints along the contours.

    Parameters
    ----------
    contours : list of Contour
    style : mapping of str to str
        ``stroke-linecap``, ``stroke-linejoin``, ``stroke-miterlimit``, ``stroke-dasharray``.
    width : float
    tolerance : float
        Both in the contours' units.
    """
    cap = _CAPS.get(style.get("stroke-linecap", ""), "flat")
    join = _JOINS.get(style.get("stroke-linejoin", ""), "mitre")
    limit = max(number_of(style.get("stroke-miterlimit"), 4.0), 1.0)
    lines = [line for c in contours for line in _stroke_lines(c, style, cap)]
    if not lines:
        return shapely.Polygon()
    # An arc of s segments per quarter strays by r·(1 − cos(π/4s)).
    turn = math.acos(max(1.0 - tolerance / max(width / 2.0, tolerance), -1.0))
    segments = min(max(math.ceil(math.pi / 4.0 / max(turn, 1e-3)), 4), 64)
    widened = shapely.buffer(
        np.array(lines, dtype=object),
        width / 2.0,
        quad_segs=segments,
        cap_style=cap,
        join_style=join,
        mitre_limit=limit,
    )
    return areas_of(shapely.union_all(widened))


def _stroke_lines(contour: Contour, style: Mapping[str, str], cap: str) -> list[shapely.Geometry]:
    points = contour.points
    steps = np.hypot(*np.diff(points, axis=0).T) if len(points) > 1 else np.zeros(0)
    points = points[np.concatenate([[True], steps > 0])]
    if len(points) < 2:
        # SVG 2, 9.5: a subpath of no length still shows its round or square cap.
        if cap == "flat":
            return []
        return [shapely.Point(points[0])]
    closed = contour.is_closed and len(points) > 2
    if closed and (points[0] != points[-1]).any():
        points = np.vstack([points, points[:1]])
    pattern = [abs(float(n)) for n in _FLOATS.findall(style.get("stroke-dasharray", ""))]
    if pattern and sum(pattern) > 0:
        offset = number_of(style.get("stroke-dashoffset"), 0.0)
        return _dashes(shapely.LineString(points), pattern, offset)
    return [shapely.LinearRing(points) if closed else shapely.LineString(points)]


def _dashes(
    line: shapely.LineString, pattern: list[float], offset: float
) -> list[shapely.Geometry]:
    """Cut a line by a dash pattern; the whole line when that would give too many dashes."""
    lengths = pattern * 2 if len(pattern) % 2 else pattern
    period = sum(lengths)
    if line.length / period * len(lengths) / 2 > MOST_DASHES:
        return [line]
    dashes: list[shapely.Geometry] = []
    start = -(offset % period)
    while start < line.length:
        for k, length in enumerate(lengths):
            a, b = max(start, 0.0), min(start + length, line.length)
            if k % 2 == 0 and b > a:
                dashes.append(substring(line, a, b))
            start += length
    return dashes
