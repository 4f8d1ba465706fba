"""The one family of letters on paper: Noto Sans (SIL Open Font License), shipped with the package.

Registers the fonts with the PDF writer and gives their letter widths to the pure floors. Hebrew and
Arabic letters are part of the widths; ``shaped_text`` draws them.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file
from importlib.resources import files as package_files

import numpy as np
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from firstpiece.files.shaped_text import script_codes
from firstpiece.model.paper import FontMetrics

FONT_FILES = {
    "regular": "NotoSans-Regular.ttf",
    "bold": "NotoSans-Bold.ttf",
    "italic": "NotoSans-Italic.ttf",
}


@cache
def register_fonts() -> dict[str, str]:
    """Register each weight with the PDF writer; return the names it knows them by."""
    names = {}
    for weight, file_name in FONT_FILES.items():
        name = file_name.removesuffix(".ttf")
        with as_file(package_files("firstpiece") / "data" / "fonts" / file_name) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
        names[weight] = name
    return names


@cache
def read_font_metrics() -> FontMetrics:
    """Return the letter widths of the shipped fonts, for text that every weight can set."""
    faces = [pdfmetrics.getFont(name).face for name in register_fonts().values()]
    shared = set.intersection(*(set(face.charToGlyph) for face in faces))
    widths = [{code: face.charWidths[code] / 1000 for code in shared} for face in faces]
    for row, weight in zip(widths, FONT_FILES, strict=True):
        for codes in script_codes(weight):
            row.update({code: width for code, width in codes.items() if code not in shared})
    known = sorted(widths[0])
    advance = [[row[code] for code in known] for row in widths]
    return FontMetrics(tuple(FONT_FILES), np.array(known), np.array(advance))
