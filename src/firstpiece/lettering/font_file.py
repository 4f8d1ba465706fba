"""A font file opened and checked: its letters' outlines and the height of its capitals.

In: the bytes of an OpenType or TrueType font. Out: a ``FontFile`` whose glyphs can be shaped and
drawn. What cannot be used is refused in one sentence.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from gettext import gettext as _
from io import BytesIO
from typing import Any

import shapely
import uharfbuzz
from fontTools.ttLib import TTFont, TTLibError

from firstpiece.errors import InputError
from firstpiece.geometry.contours import FlatteningPen, fill_area

LARGEST_BYTES = 64 * 1024 * 1024
FLATNESS_MM = 0.005
"""How far a straight piece may stray from a letter's curve: a tenth of what a machine resolves."""


@dataclass(frozen=True, slots=True, eq=False)
class FontFile:
    """An opened font.

    Parameters
    ----------
    digest : str
        SHA-256 of its bytes, as hex digits.
    name : str
        Family and style as the font calls itself; may be empty.
    shaper : uharfbuzz.Font
        Scaled to font units.
    cap_height : float
        Height of a capital H in font units.
    """

    digest: str
    name: str
    shaper: Any
    cap_height: float

    def has(self, sign: str) -> bool:
        """Return whether the font has a glyph for a character."""
        return bool(self.shaper.get_nominal_glyph(ord(sign)))


def open_font(data: bytes) -> FontFile:
    """Return the opened font.

    Parameters
    ----------
    data : bytes
        An OpenType, TrueType or WOFF file; of a collection the first font is taken.

    Raises
    ------
    InputError
        When it is no font, or has no outlines.
    """
    if len(data) > LARGEST_BYTES:
        raise _unusable(_("the font file is larger than 64 MB"))
    return _open_font(bytes(data))


@lru_cache(maxsize=8)
def _open_font(data: bytes) -> FontFile:
    face = uharfbuzz.Face(_plain(data))
    if not face.glyph_count or not face.unicodes:
        raise _unusable(_("this is not a font file that can be read"))
    if not {"glyf", "CFF ", "CFF2"} & set(face.table_tags):
        raise _unusable(_("the font has no outlines, only pictures of its letters"))
    font = uharfbuzz.Font(face)
    digest = hashlib.sha256(data).hexdigest()
    return FontFile(digest, _name(face), font, _cap_height(font, face.upem))


def _plain(data: bytes) -> bytes:
    """Return the font unpacked, when it is packed for the web."""
    if data[:4] == b"wOF2":
        raise _unusable(_("the font is packed as WOFF2"))
    if data[:4] != b"wOFF":
        return data
    try:
        font = TTFont(BytesIO(data), lazy=True)
        font.flavor = None
        out = BytesIO()
        font.save(out, reorderTables=None)
    except (TTLibError, ValueError, KeyError, AssertionError, OSError, ArithmeticError) as fault:
        raise _unusable(_("the packed font is damaged")) from fault
    return out.getvalue()


def _name(face: Any) -> str:
    """Return family and style, as far as the font tells them."""
    words = []
    for name_id in (1, 2):
        try:
            words.append(face.get_name(name_id) or "")
        except (ValueError, UnicodeError):
            continue
    return " ".join(word for word in words if word)[:120]


def _cap_height(font: Any, upem: int) -> float:
    """Height of the capital H; else what the font says of its capitals; else a usual share."""
    glyph = font.get_nominal_glyph(ord("H"))
    extents = font.get_glyph_extents(glyph) if glyph else None
    if extents is not None and extents.y_bearing > 0:
        return float(extents.y_bearing)
    told = font.get_metric_position(uharfbuzz.OTMetricsTag.CAP_HEIGHT)
    return float(told) if told and told > 0 else 0.7 * upem


def glyph_parts(font: FontFile, glyph: int, *, mm_per_unit: float) -> tuple[shapely.Polygon, ...]:
    """Return the connected pieces of a glyph [mm], left to right, then bottom to top."""
    pen = FlatteningPen(FLATNESS_MM / mm_per_unit)
    font.shaper.draw_glyph_with_pen(glyph, pen)
    area = fill_area(pen.contours, rule="nonzero")
    scaled = shapely.transform(area, lambda xy: xy * mm_per_unit)
    parts = [p for p in shapely.get_parts(scaled) if not p.is_empty and p.area > 0]
    return tuple(sorted(parts, key=lambda p: p.bounds))


def _unusable(what: str) -> InputError:
    return InputError(what, remedy=_("choose an OpenType or TrueType font file with outlines"))
