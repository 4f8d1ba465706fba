"""SVG bytes to painted shapes, in painting order and in drawing units.

Every visible fill and stroke becomes one area of one colour. What cannot be sewn as drawn (blends,
text without its font, effects) is simplified and told as a note.
"""

from __future__ import annotations

import math
import re
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import PictureError
from firstpiece.files.vector_document import parse_document
from firstpiece.files.vector_layers import Box, lay_over
from firstpiece.files.vector_transform import FLOATS, bad_number, length_of
from firstpiece.files.vector_walk import LARGEST_COORDINATE, Walk, paint_document
from firstpiece.model.artwork import Artwork, PaintedShape
from firstpiece.model.finding import Finding, Severity

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

FLATNESS = 1.0 / 4000.0
"""Curves stray from their drawing by at most this share of the art's larger side."""


def looks_like_svg(data: bytes) -> bool:
    """Return True when the bytes start like XML and hold an ``svg`` element near their start."""
    if data.startswith((b"\xff\xfe<\x00", b"\xfe\xff\x00<")):
        return True
    head = data[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
    return head[:1] == b"<" and re.search(rb"<(\w+:)?svg[\s>]", data[:200_000]) is not None


def read_svg(data: bytes, *, name: str) -> Artwork:
    """Return the drawing as painted shapes.

    Parameters
    ----------
    data : bytes
        SVG text.
    name : str
        A label for people, shown in errors.

    Raises
    ------
    PictureError
        When it is damaged, too detailed, refers to itself or outside itself, holds impossible
        numbers, or paints nothing.
    """
    document = parse_document(data, name=name)
    canvas = _canvas(document.root, name)
    side = max(canvas[2:]) if canvas else 1000.0
    walk = paint_document(document, name=name, tolerance=side * FLATNESS, canvas=canvas)
    art_side = _art_side(walk, canvas)
    # Small art on a large canvas (or no canvas at all): draw it again, finely enough.
    if art_side < side / 4.0 or canvas is None:
        fine = max(art_side, 1e-9) * FLATNESS
        walk = paint_document(document, name=name, tolerance=fine, canvas=canvas)
    shapes = lay_over(walk.layers, canvas)
    if not shapes:
        what = _("nothing is painted in this drawing")
        remedy = _("draw shapes with a fill or a stroke")
        if "text" in walk.skipped:
            what = _("this drawing holds only text")
            remedy = _("turn the text into outlines in the drawing program")
        raise PictureError(what, where=name, remedy=remedy)
    left, top, width, height = canvas or _bounds(shapes)
    moved = tuple(
        PaintedShape(
            shapely.transform(s.area, lambda xy: xy - np.array([left, top])), s.rgb, s.is_stroke
        )
        for s in shapes
    )
    return Artwork(name=name, width=width, height=height, shapes=moved, notes=_notes(walk))


def _canvas(root: Element, name: str) -> Box | None:
    """Left, top, width and height of the canvas in drawing units; None when it is not told."""
    numbers = [float(n) for n in FLOATS.findall(root.get("viewBox", ""))]
    if len(numbers) != 4:
        numbers = [0.0, 0.0, length_of(root.get("width")), length_of(root.get("height"))]
    left, top, width, height = numbers
    if not all(math.isfinite(n) and abs(n) <= LARGEST_COORDINATE for n in numbers):
        raise bad_number(name)
    return (left, top, width, height) if width > 0 and height > 0 else None


def _art_side(walk: Walk, canvas: Box | None) -> float:
    if not walk.layers:
        return math.inf if canvas else 0.0
    x0, y0, x1, y1 = shapely.total_bounds([layer.area for layer in walk.layers])
    if canvas:
        left, top, width, height = canvas
        x0, y0 = max(x0, left), max(y0, top)
        x1, y1 = min(x1, left + width), min(y1, top + height)
    return max(float(x1 - x0), float(y1 - y0))


def _bounds(shapes: list[PaintedShape]) -> Box:
    x0, y0, x1, y1 = (float(v) for v in shapely.total_bounds([s.area for s in shapes]))
    return (x0, y0, x1 - x0, y1 - y0)


def _notes(walk: Walk) -> tuple[Finding, ...]:
    """Return one note for each kind of thing that was simplified."""
    sentences = {
        "gradient": ("gradient-flattened", _("{n} blends of colour became flat colours.")),
        "text": ("text-skipped", _("{n} pieces of text were left out: turn them into outlines.")),
        "image": ("image-skipped", _("{n} pictures inside the drawing were left out.")),
        "filter": ("effect-skipped", _("{n} blur or shadow effects were left out.")),
        "mask": ("mask-skipped", _("{n} soft masks were left out.")),
        "pattern": ("pattern-skipped", _("{n} pattern fills were left out.")),
        "outside": ("reference-skipped", _("{n} references to missing parts were left out.")),
    }
    return tuple(
        Finding(code, Severity.NOTE, sentence.format(n=walk.skipped[kind]))
        for kind, (code, sentence) in sentences.items()
        if kind in walk.skipped
    )
