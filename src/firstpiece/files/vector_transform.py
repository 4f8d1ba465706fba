"""SVG transform lists, lengths and view boxes as numbers and matrices.

Input: attribute texts. Output: affine matrices and lengths in drawing units.
"""

from __future__ import annotations

import math
import re
from gettext import gettext as _
from typing import TYPE_CHECKING

from fontTools.misc.transform import Identity, Transform

from firstpiece.errors import PictureError
from firstpiece.files.vector_style import UNITS, number_of

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

FLOATS = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|nan|inf", re.IGNORECASE)
_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")


def length_of(text: str | None) -> float:
    """Return a length in drawing units (1/96 inch); 0 when it is missing or relative."""
    match = re.fullmatch(r"\s*([\d.]+(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*", text or "")
    if match is None or match[2].lower() not in ("", "px", *UNITS):
        return 0.0
    return number_of(text, 0.0)


def bad_number(name: str) -> PictureError:
    """Return the error for a number that cannot be drawn."""
    what = _("the drawing has a coordinate that is not a usable number")
    return PictureError(what, where=name, remedy=_("save it again as plain SVG"))


def matrix_of(text: str, name: str) -> Transform:
    """Return the transform list as one matrix."""
    total: Transform = Identity
    for kind, body in _TRANSFORM.findall(text):
        n = [float(v) for v in FLOATS.findall(body)]
        if not n or not all(math.isfinite(v) for v in n):
            raise bad_number(name)
        total = total.transform(_step(kind, n))
    return total


def _step(kind: str, n: list[float]) -> Transform:
    if kind == "matrix":
        return Transform(*n) if len(n) == 6 else Identity
    if kind == "translate":
        return Identity.translate(n[0], n[1] if len(n) > 1 else 0.0)
    if kind == "scale":
        return Identity.scale(n[0], n[1] if len(n) > 1 else n[0])
    if kind == "rotate":
        cx, cy = (n[1], n[2]) if len(n) > 2 else (0.0, 0.0)
        return Identity.translate(cx, cy).rotate(math.radians(n[0])).translate(-cx, -cy)
    x, y = (n[0], 0.0) if kind == "skewX" else (0.0, n[0])
    return Identity.skew(math.radians(x), math.radians(y))


def viewport_matrix(element: Element, size: tuple[float, float] | None = None) -> Transform:
    """Return the matrix of a nested ``svg`` or used ``symbol``: its place, its view box fitted."""
    x, y = number_of(element.get("x"), 0.0), number_of(element.get("y"), 0.0)
    matrix = Identity.translate(x, y)
    box = [float(n) for n in FLOATS.findall(element.get("viewBox", ""))]
    width, height = size or (length_of(element.get("width")), length_of(element.get("height")))
    if len(box) != 4 or min(box[2], box[3], width, height) <= 0:
        return matrix
    scale = min(width / box[2], height / box[3])
    spare_x, spare_y = width - scale * box[2], height - scale * box[3]
    return matrix.translate(spare_x / 2, spare_y / 2).scale(scale).translate(-box[0], -box[1])
