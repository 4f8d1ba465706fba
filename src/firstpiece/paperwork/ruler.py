"""The check ruler of a true-size page: 100 mm that must measure 100 mm on paper."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import INK, LineItem
from firstpiece.paperwork.sheet import CAPTION, SMALL, Face

if TYPE_CHECKING:
    from firstpiece.paperwork.sheet import Sheet

RULER_MM = 100.0
HAIR_MM = 0.15
_TALL_MM, _SHORT_MM = 3.4, 1.8


def draw_ruler(sheet: Sheet, corner: tuple[float, float], scale_text: str, *, unit: str) -> float:
    """Draw the ruler from its upper left corner; return the y below it.

    The distance from the middle of the first mark to the middle of the last is 100 mm.
    """
    left, top = corner
    level = top - _TALL_MM
    sheet.items.append(LineItem(left, level, left + RULER_MM, level, HAIR_MM, INK))
    for i in range(11):
        x = left + 10.0 * i
        tall = _TALL_MM if i % 5 == 0 else _SHORT_MM
        sheet.items.append(LineItem(x, level, x, level + tall, HAIR_MM, INK))
    middle = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="centre")
    for i in (0, 5, 10):
        sheet.text(left + 10.0 * i, level - 2.9, str(10 * i), middle)
    length = _("100 mm") if unit == "mm" else _("100 mm (3.94 in)")
    text = _("This line is {length} long. Print at 100 %, no fit to page, then lay a ruler on it.")
    x = left + RULER_MM + 6.0
    room = sheet.right_mm - x
    below = sheet.paragraph(x, top + 1.4, scale_text, room, Face(SMALL.size_pt, "bold"))
    below = sheet.paragraph(x, below, text.format(length=length), room, SMALL)
    return min(level - 5.0, below)
