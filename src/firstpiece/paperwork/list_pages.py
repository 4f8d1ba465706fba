"""Any printed list: head, facts, tables whose cells wrap, closing paragraphs.

In: a list sheet and letter widths. Out: pages; a table's heading is repeated on every page that its
rows run on to.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import INK
from firstpiece.model.text_direction import is_right_to_left
from firstpiece.paperwork.flow import Place, Strip, flow_strips, gap
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    note_strips,
    paragraph_strips,
)
from firstpiece.paperwork.sheet import BODY, CAPTION, MARGIN_MM, STRONG, Face, Sheet, wrap

if TYPE_CHECKING:
    from firstpiece.model.list_sheet import ListColumn, ListSection, ListSheet
    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics

_PAD_MM = 1.1
_TICK_MM = 6.0
_GUTTER_MM = 4.0


def draw_list(sheet: ListSheet, metrics: FontMetrics) -> tuple[Page, ...]:
    """Return the list's pages.

    Parameters
    ----------
    sheet : ListSheet
    metrics : FontMetrics
    """
    head = Head(sheet.title, sheet.kind, sheet.mark)
    place = begin_sheet(sheet.paper, metrics, head)
    sheets = [place.sheet]
    if sheet.facts:
        fields = [Field(label, value, max(1.0, len(value) / 12)) for label, value in sheet.facts]
        place = Place(place.sheet, draw_fields(place.sheet, place.y_mm + 3.0, fields))
    for section in sheet.sections:
        place = _draw_section(section, sheet, place, sheets)
    closing = [
        strip
        for text in sheet.closing
        for strip in (
            gap(3.0),
            *paragraph_strips(text, (MARGIN_MM, sheets[0].measure_mm), metrics),
        )
    ]
    added, _end = flow_strips(closing, place, lambda: begin_sheet(sheet.paper, metrics, head))
    sheets += added
    draw_feet(sheets, f"{sheet.title} · {sheet.mark}" if sheet.mark else sheet.title)
    return tuple(s.page(f"{sheet.kind}: {sheet.title}") for s in sheets)


def _draw_section(
    section: ListSection, sheet: ListSheet, place: Place, sheets: list[Sheet]
) -> Place:
    metrics = place.sheet.metrics
    measure = place.sheet.measure_mm
    left = MARGIN_MM + (_TICK_MM if sheet.has_ticks else 0.0)
    spans = _spans(section.columns, left, MARGIN_MM + measure)
    header = Strip(4.8, lambda s, y: _draw_header(s, y, section.columns, spans), leads=True)
    strips = []
    if section.title:
        strips.append(heading_strip(section.title))
    if section.remark:
        strips += note_strips(section.remark, (MARGIN_MM, measure), metrics)
    strips.append(header)
    strips += [
        _row(row, (section.columns, spans), metrics, BODY, has_tick=sheet.has_ticks)
        for row in section.rows
    ]
    if section.total:
        columns = (section.columns, spans)
        strips.append(_row(section.total, columns, metrics, STRONG, has_tick=False))
    if not section.rows:
        text = _("Nothing on this list.")
        strips += note_strips(text, (MARGIN_MM, measure), metrics)
    head = Head(sheet.title, sheet.kind, sheet.mark)

    def next_sheet() -> Place:
        new = begin_sheet(sheet.paper, metrics, head)
        header.draw(new.sheet, new.y_mm)
        return Place(new.sheet, new.y_mm - header.height_mm)

    added, end = flow_strips(strips, place, next_sheet)
    sheets += added
    return Place(end.sheet, end.y_mm - 3.0)


def _spans(
    columns: tuple[ListColumn, ...], left: float, right: float
) -> tuple[tuple[float, float], ...]:
    """Return each column's left edge and width [mm]."""
    unit = (right - left) / sum(c.share for c in columns)
    spans, x = [], left
    for i, column in enumerate(columns):
        width = unit * column.share
        spans.append((x, width - (_GUTTER_MM if i < len(columns) - 1 else 0.0)))
        x += width
    return tuple(spans)


def _draw_header(
    sheet: Sheet, y: float, columns: tuple[ListColumn, ...], spans: tuple[tuple[float, float], ...]
) -> None:
    for column, (x, width) in zip(columns, spans, strict=True):
        face = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align=column.align)
        at = x + width if column.align == "right" else x
        sheet.fit(at, y - 3.4, column.label, width, face)
    sheet.rule(MARGIN_MM, y - 4.8, sheet.right_mm)


def _row(
    row: tuple[str, ...],
    table: tuple[tuple[ListColumn, ...], tuple[tuple[float, float], ...]],
    metrics: FontMetrics,
    face: Face,
    *,
    has_tick: bool,
) -> Strip:
    columns, spans = table
    cells = [wrap(text, width, face, metrics) for text, (_x, width) in zip(row, spans, strict=True)]
    height = max(len(lines) for lines in cells) * face.lead_mm + 2 * _PAD_MM

    def draw(sheet: Sheet, y: float) -> None:
        if has_tick:
            sheet.box(MARGIN_MM, y - _PAD_MM - 3.2, (3.0, 3.0), None, INK)
        for lines, column, (x, width) in zip(cells, columns, spans, strict=True):
            for i, line in enumerate(lines):
                at_right = column.align == "right" or is_right_to_left(line)
                look = Face(face.size_pt, face.weight, face.rgb, "right" if at_right else "left")
                base = y - _PAD_MM - (i + 0.74) * face.lead_mm
                sheet.text(x + width if at_right else x, base, line, look)
        sheet.rule(MARGIN_MM, y - height, sheet.right_mm)

    return Strip(height, draw)
