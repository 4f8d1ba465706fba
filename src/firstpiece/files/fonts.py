"""The one family of letters on paper: Noto Sans (SIL Open Font License), shipped with the package.

Registers the fonts with the PDF writer and gives their letter widths to the pure floors.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file
from importlib.resources import files as package_files

import numpy as np
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

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
    shared = sorted(set.intersection(*(set(face.charToGlyph) for face in faces)))
    advance = [[face.charWidths[code] / 1000 for code in shared] for face in faces]
    return FontMetrics(tuple(FONT_FILES), np.array(shared), np.array(advance))
