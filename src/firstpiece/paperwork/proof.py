"""The proof: what the customer agrees to, at true size on the garment's colour.

In: a job. Out: pages. The first page carries the picture, a check ruler and the threads; whatever
does not fit goes on to the next sheets.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from babel.numbers import format_currency

from firstpiece.paperwork.design_drawing import draw_cover_map, scale_to_fit
from firstpiece.paperwork.flow import Place, Strip, flow_strips, gap, take_strips
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    note_strips,
    say_length,
    say_size,
)
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.pins import draw_pins, findings_section, number_findings
from firstpiece.paperwork.ruler import draw_ruler
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.paperwork.sheet import (
    ACCENT,
    BODY,
    CAPTION,
    LABEL,
    MARGIN_MM,
    QUIET,
    SMALL,
    Face,
)
from firstpiece.paperwork.thread_table import match_strips

if TYPE_CHECKING:
    from collections.abc import Sequence

    from moneyed import Money

    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.quote import Quote
    from firstpiece.paperwork.sheet import Sheet

PIXELS_PER_MM = 10.0
_GUTTER_MM = 10.0
_CLOTH_MM = 9.0
_TALLEST_MM = 150.0
_GARMENT_MM = 62.0


@dataclass(frozen=True, slots=True)
class Panel:
    """The picture's place on the sheet [mm] and the scale of the design in it."""

    left: float
    bottom: float
    width: float
    height: float
    scale: float

    @property
    def middle(self) -> tuple[float, float]:
        """Where the design's centre lies."""
        return self.left + self.width / 2, self.bottom + self.height / 2


def draw_proof(job: PaperJob) -> tuple[Page, ...]:
    """Return the proof's pages."""
    head = Head(job.title, _("Proof"), f"{job.revision} · {_('plan')} {job.plan.content_id()}")
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    y = draw_fields(sheet, first.y_mm + 3.0, _fields(job))
    panel = _panel(sheet, y - 8.0, job)
    _draw_picture(sheet, panel, job)
    y = draw_ruler(sheet, panel.left, panel.bottom - 3.0, job.unit)
    rest, y = _draw_columns(sheet, y - 2.0, job)
    more, _end = flow_strips(
        [*rest, *_agreement_strips(job, sheet.measure_mm)],
        Place(sheet, y),
        lambda: begin_sheet(job.paper, job.metrics, head),
    )
    sheets = [sheet, *more]
    draw_feet(sheets, f"{job.title} · {head.mark}")
    return tuple(s.page(f"{_('Proof')}: {job.title}") for s in sheets)


def _fields(job: PaperJob) -> list[Field]:
    return [
        Field(_("sewn on"), job.setup.garment.label, 1.7),
        Field(_("design, width × height"), _size_text(job), 1.35),
        Field(_("threads"), str(len(job.plan.threads)), 0.5),
        Field(_("stitches"), f"{job.plan.n_stitches:,}".replace(",", "\u202f"), 0.7),
        Field(_("thread"), job.setup.thread.label, 1.2),
    ]


def _size_text(job: PaperJob) -> str:
    return say_size(job.region_map.width_mm, job.region_map.height_mm, job.unit)


def _panel(sheet: Sheet, top: float, job: PaperJob) -> Panel:
    """Return where the picture goes: as wide as the sheet, as tall as the design needs."""
    width = sheet.measure_mm - _GUTTER_MM
    size = (max(job.plan.size_mm[0], job.region_map.width_mm),
        max(job.plan.size_mm[1], job.region_map.height_mm))  # fmt: skip
    scale = scale_to_fit(size, (width - 2 * _CLOTH_MM, _TALLEST_MM - 2 * _CLOTH_MM))
    height = min(_TALLEST_MM, max(58.0, size[1] * scale + 2 * _CLOTH_MM))
    return Panel(MARGIN_MM + _GUTTER_MM, top - height, width, height, scale)


def _draw_picture(sheet: Sheet, panel: Panel, job: PaperJob) -> None:
    width, height = panel.width / panel.scale, panel.height / panel.scale
    pixels = draw_sewout(
        job.plan,
        setup=job.setup,
        pixels_per_mm=PIXELS_PER_MM * panel.scale,
        window_mm=(-width / 2, -height / 2, width, height),
    )
    sheet.picture(panel.left, panel.bottom, (panel.width, panel.height), pixels)
    _draw_size_marks(sheet, panel, job)
    draw_pins(sheet, number_findings(job), panel.middle, panel.scale)


def _draw_size_marks(sheet: Sheet, panel: Panel, job: PaperJob) -> None:
    """Draw the design's width over the picture and its height beside it, outside the cloth."""
    x, y = panel.middle
    half = (job.region_map.width_mm * panel.scale / 2, job.region_map.height_mm * panel.scale / 2)
    top = panel.bottom + panel.height
    level, upright = top + 2.2, panel.left - 2.2
    sheet.line(x - half[0], level, x + half[0], level, LABEL)
    sheet.line(upright, y - half[1], upright, y + half[1], LABEL)
    for sign in (-1.0, 1.0):
        sheet.line(x + sign * half[0], top + 0.8, x + sign * half[0], top + 3.6, LABEL)
        sheet.line(
            panel.left - 3.6, y + sign * half[1], panel.left - 0.8, y + sign * half[1], LABEL
        )
    wide = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="centre")
    label = say_length(job.region_map.width_mm, job.unit)
    sheet.fit(x, level + 0.9, label, panel.width, wide)
    tall = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
    sheet.fit(
        upright - 1.0, y - 0.8, f"{say_length(job.region_map.height_mm, job.unit)}", 9.0, tall
    )
    scale_text = _("true size") if panel.scale == 1.0 else _("shown at {p:.0f} % of true size")
    said = scale_text.format(p=100 * panel.scale)
    sheet.text(panel.left, level + 0.3, said, Face(8.0, "bold"))


def _draw_columns(sheet: Sheet, y: float, job: PaperJob) -> tuple[Sequence[Strip], float]:
    """Draw the threads beside the garment; return the rows that did not fit, and the y below."""
    room = y - 24.0
    left_width = sheet.measure_mm * 0.60
    threads = [heading_strip(_("Threads")), *match_strips(job, MARGIN_MM, left_width)]
    if room < 45.0:
        threads = [heading_strip(_("Threads")), *match_strips(job, MARGIN_MM, sheet.measure_mm)]
        place = Strip(_GARMENT_MM + 20.0, lambda s, top: _draw_place(s, top, job, _GARMENT_MM))
        return [*threads, place], y
    taken, rest = take_strips(threads, room)
    flow_strips(taken, Place(sheet, y), lambda: Place(sheet, y), foot_mm=0.0)
    used = sum(strip.height_mm for strip in taken)
    tall = min(_GARMENT_MM, room - 22.0)
    _draw_place(sheet, y, job, tall)
    return rest, y - max(used, tall + 20.0) - 2.0


def _draw_place(sheet: Sheet, y: float, job: PaperJob, tall: float) -> None:
    """Draw the garment with the design in place, right of the threads."""
    left = MARGIN_MM + sheet.measure_mm * 0.66
    heading_strip(_("Placement"), x=left).draw(sheet, y)
    box = (left, y - 9.0 - tall, sheet.right_mm - left, tall)
    draw_garment(sheet, box, job.setup.garment, job.region_map, unit=job.unit)
    where = job.setup.garment.placement
    sheet.paragraph(left, box[1] - 1.0, where, sheet.right_mm - left, SMALL)


def _agreement_strips(job: PaperJob, measure: float) -> list[Strip]:
    found = number_findings(job)
    return [
        *_cover_strips(job, measure),
        heading_strip(_("To know before sewing")),
        *findings_section(found, job.metrics, measure),
        *_price_strips(job, measure),
        *_yes_strips(job, measure),
    ]


def _cover_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the drawing and the sentence that say what is thread and what is cloth."""
    sewn, bare = job.region_map.sewn_regions, [r for r in job.region_map.regions if r.is_bare]
    text = _(
        "Grey areas are sewn: {n} areas, {sewn:.0f} mm² of thread in all. White areas inside the "
        "design stay {cloth} cloth: {m} areas, {bare:.0f} mm². All around it the cloth stays bare."
    ).format(
        n=len(sewn),
        sewn=sum(r.polygon.area for r in sewn),
        cloth=job.setup.garment.color_name,
        m=len(bare),
        bare=sum(r.polygon.area for r in bare),
    )
    if not bare:
        text = _(
            "Grey areas are sewn: {n} areas, {sewn:.0f} mm² of thread in all. All around them the "
            "{cloth} cloth stays bare."
        ).format(n=len(sewn), sewn=sum(r.polygon.area for r in sewn),
            cloth=job.setup.garment.color_name)  # fmt: skip
    size = (job.region_map.width_mm, job.region_map.height_mm)
    scale = scale_to_fit(size, (52.0, 34.0))
    tall = max(16.0, size[1] * scale)

    def draw(sheet: Sheet, y: float) -> None:
        draw_cover_map(sheet, job.region_map, (MARGIN_MM + 26.0, y - 1.0 - tall / 2), scale)
        sheet.paragraph(MARGIN_MM + 60.0, y, text, measure - 60.0)

    return [heading_strip(_("What is thread and what is cloth")), Strip(tall + 4.0, draw)]


def _price_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the offered prices, one row for each height and number of pieces."""
    if not job.quotes:
        return []
    ends = [MARGIN_MM + measure * share for share in (0.38, 0.55, 0.78, 1.0)]
    right = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")

    def head(sheet: Sheet, y: float) -> None:
        sheet.text(MARGIN_MM, y - 3.4, _("design"), CAPTION)
        labels = (_("stitches"), _("pieces"), _("price each"), _("total"))
        for x, label in zip(ends, labels, strict=True):
            sheet.text(x, y - 3.4, label, right)
        sheet.rule(MARGIN_MM, y - 4.8, sheet.right_mm)

    def row(quote: Quote) -> Strip:
        values = (f"{quote.n_stitches:,}".replace(",", "\u202f"), str(quote.quantity),
            say_money(quote.each), say_money(quote.total))  # fmt: skip

        def draw(sheet: Sheet, y: float) -> None:
            size = say_size(quote.width_mm, quote.height_mm, job.unit)
            sheet.text(MARGIN_MM, y - 4.0, size)
            for x, value in zip(ends, values, strict=True):
                sheet.fit(x, y - 4.0, value, measure * 0.2, Face(BODY.size_pt, align="right"))
            sheet.rule(MARGIN_MM, y - 5.8, sheet.right_mm)

        return Strip(5.8, draw)

    rows = [row(q) for q in job.quotes]
    note = _("Price each is the total shared over the pieces and rounded up.")
    quiet = note_strips(note, (MARGIN_MM, measure), job.metrics)
    return [heading_strip(_("Prices")), Strip(4.8, head, leads=True), *rows, gap(1.5), *quiet]


def say_money(money: Money) -> str:
    """Return an amount with its currency."""
    said: str = format_currency(money.amount, str(money.currency), locale="en_GB")
    return said


def _yes_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the customer's yes, kept whole: lines to be filled in by hand."""
    text = _(
        "I have looked at size, place, colours and spelling, and say yes to {design}, plan {plan}."
    ).format(design=job.revision, plan=job.plan.content_id())
    note = _(
        "This picture is a forecast from the stitch plan, not a sew-out. Thread shines, cloth "
        "moves and paper shows colours in its own way; the threads named here are what is sewn."
    )
    labels = (_("name"), _("signature"), _("date"))

    def draw(sheet: Sheet, y: float) -> None:
        sheet.rule(MARGIN_MM, y - 3.0, sheet.right_mm, ACCENT)
        sheet.text(MARGIN_MM, y - 9.5, _("Your yes"), Face(11.0, "bold", ACCENT))
        below = sheet.paragraph(MARGIN_MM, y - 11.5, text, measure)
        line_y = below - 13.0
        for i, label in enumerate(labels):
            x = MARGIN_MM + measure * i / 3
            sheet.line(x, line_y, x + measure / 3 - 6.0, line_y)
            sheet.text(x, line_y - 3.2, label, CAPTION)
        sheet.paragraph(MARGIN_MM, line_y - 5.5, note, measure, QUIET)

    return [Strip(46.0, draw)]
