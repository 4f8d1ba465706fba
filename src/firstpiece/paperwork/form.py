"""The form language shared by every sheet: head, labelled fields, headings, paragraphs, foot.

Paper and screen are the same form; these pieces are what makes proof, run sheet and question sheet
look like one family.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.text_direction import is_right_to_left
from firstpiece.paperwork.flow import Place, Strip
from firstpiece.paperwork.sheet import (
    BODY,
    CAPTION,
    HEADING,
    MARGIN_MM,
    QUIET,
    TITLE,
    VALUE,
    Face,
    Sheet,
    wrap,
)
from firstpiece.units import MM_PER_INCH, format_length

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.paper import FontMetrics

FIELD_MM = 10.5
_MM = re.compile(r"(\d+(?:\.\d+)?) mm\b")
_HEAD_MM = 25.0


@dataclass(frozen=True, slots=True)
class Head:
    """What stands at the top of each sheet: the job, the kind of sheet, version and plan hash."""

    title: str
    kind: str
    mark: str


@dataclass(frozen=True, slots=True)
class Field:
    """A labelled value; ``share`` is its width beside its neighbours."""

    label: str
    value: str
    share: float = 1.0


def draw_head(sheet: Sheet, head: Head) -> float:
    """Draw the head; return the y below it."""
    top = sheet.height_mm - MARGIN_MM
    kind_width = sheet.metrics.width_mm(sheet.metrics.printable(head.kind), 13.0, "regular")
    sheet.fit(MARGIN_MM, top - 6.2, head.title, sheet.measure_mm - kind_width - 8, TITLE)
    sheet.text(sheet.right_mm, top - 6.2, head.kind, Face(13.0, align="right"))
    right = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
    sheet.fit(sheet.right_mm, top - 10.2, head.mark, sheet.measure_mm, right)
    y = top - 12.4
    sheet.rule(MARGIN_MM, y, sheet.right_mm, rgb=BODY.rgb)
    return y


def draw_fields(sheet: Sheet, y: float, fields: Sequence[Field]) -> float:
    """Draw a row of labelled values between hairlines; return the y below it."""
    unit = sheet.measure_mm / sum(f.share for f in fields)
    x = MARGIN_MM
    for i, entry in enumerate(fields):
        width = unit * entry.share
        if i:
            sheet.line(x - 1.5, y - 2.0, x - 1.5, y - FIELD_MM + 1.2, rgb=(207, 199, 184))
        sheet.fit(x, y - 4.0, entry.label, width - 3.5, CAPTION)
        sheet.fit(x, y - 8.4, entry.value, width - 3.5, VALUE)
        x += width
    sheet.rule(MARGIN_MM, y - FIELD_MM, sheet.right_mm)
    return y - FIELD_MM


def draw_feet(sheets: Sequence[Sheet], text: str) -> None:
    """Draw the foot of every sheet, with its number."""
    for i, sheet in enumerate(sheets):
        y = MARGIN_MM - 2
        sheet.rule(MARGIN_MM, y + 2.5, sheet.right_mm)
        number = _("sheet {n} of {total}").format(n=i + 1, total=len(sheets))
        sheet.text(sheet.right_mm, y - 1.2, number, Face(6.5, rgb=CAPTION.rgb, align="right"))
        sheet.fit(MARGIN_MM, y - 1.2, text, sheet.measure_mm - 30, CAPTION)


def begin_sheet(paper: str, metrics: FontMetrics, head: Head) -> Place:
    """Return a new sheet with its head drawn, and where to go on."""
    sheet = Sheet(paper, metrics)
    return Place(sheet, draw_head(sheet, head) - 3.0)


def heading_strip(text: str, *, x: float = MARGIN_MM, face: Face = HEADING) -> Strip:
    """Return a heading that stays with what follows."""
    return Strip(
        9.0, lambda sheet, y: sheet.fit(x, y - 6.4, text, sheet.right_mm - x, face), leads=True
    )


def paragraph_strips(
    text: str, box: tuple[float, float], metrics: FontMetrics, face: Face = BODY
) -> list[Strip]:
    """Return one strip per line of a paragraph; ``box`` is its left edge and width [mm]."""
    x, width = box

    def line_strip(line: str) -> Strip:
        at, look = x, face
        if is_right_to_left(line):
            at, look = x + width, replace(face, align="right")
        return Strip(
            face.lead_mm, lambda sheet, y: sheet.text(at, y - 0.72 * face.lead_mm, line, look)
        )

    return [line_strip(line) for line in wrap(text, width, face, metrics)]


def note_strips(text: str, box: tuple[float, float], metrics: FontMetrics) -> list[Strip]:
    """Return a quiet remark as strips."""
    return paragraph_strips(text, box, metrics, QUIET)


def say_length(mm: float, unit: str) -> str:
    """Return a length for a reader, in their unit."""
    return format_length(mm, unit=unit, digits=1 if unit == "mm" else 2)


def in_unit(text: str, unit: str) -> str:
    """Return a sentence with its millimetres in the reader's unit."""
    if unit == "mm":
        return text
    return _MM.sub(lambda found: say_length(float(found[1]), unit), text)


def say_size(width_mm: float, height_mm: float, unit: str) -> str:
    """Return width by height in one unit (``90 × 84.3 mm``)."""
    scale = 1.0 if unit == "mm" else MM_PER_INCH
    digits = 1 if unit == "mm" else 2
    numbers = [f"{v / scale:.{digits}f}".rstrip("0").rstrip(".") for v in (width_mm, height_mm)]
    return f"{numbers[0]} × {numbers[1]} {unit}"
