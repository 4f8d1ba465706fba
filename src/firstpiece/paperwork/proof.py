"""The proof: what the customer agrees to, at true size on the garment's colour.

In: a job. Out: pages. The first page carries the picture, a check ruler and the threads; whatever
does not fit goes on to the next sheets.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.agreement import agreement_strips
from firstpiece.paperwork.design_drawing import scale_to_fit
from firstpiece.paperwork.flow import Place, Strip, flow_strips, take_strips
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    say_length,
    say_size,
)
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.pins import draw_pins, number_findings
from firstpiece.paperwork.ruler import draw_ruler
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.paperwork.sheet import (
    CAPTION,
    LABEL,
    MARGIN_MM,
    SMALL,
    Face,
    wrap,
)
from firstpiece.paperwork.thread_table import match_strips

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

PIXELS_PER_MM = 10.0
_GUTTER_MM = 14.0
_CLOTH_MM = 9.0
_TALLEST_MM = 150.0
_GARMENT_MM = 62.0
_PLACE_SHARE = 0.66


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
    y = draw_ruler(sheet, (panel.left, panel.bottom - 3.0), _scale_text(panel), unit=job.unit)
    rest, y = _draw_columns(sheet, y - 2.0, job)
    more, _end = flow_strips(
        [*rest, *agreement_strips(job, sheet.measure_mm)],
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
    label = say_length(job.region_map.height_mm, job.unit)
    sheet.fit(upright - 1.0, y - 0.8, label, upright - 1.0 - MARGIN_MM, tall)


def _scale_text(panel: Panel) -> str:
    """Return the sentence that says how large the picture is drawn."""
    if panel.scale == 1.0:
        return _("True size.")
    return _("Shown at {p:.0f} % of true size.").format(p=100 * panel.scale)


def _draw_columns(sheet: Sheet, y: float, job: PaperJob) -> tuple[Sequence[Strip], float]:
    """Draw the threads beside the garment; return the rows that did not fit, and the y below."""
    room = y - 24.0
    left_width = sheet.measure_mm * 0.60
    threads = [heading_strip(_("Threads")), *match_strips(job, MARGIN_MM, left_width)]
    words = _place_words_mm(sheet, job)
    if room < 34.0 + words:
        threads = [heading_strip(_("Threads")), *match_strips(job, MARGIN_MM, sheet.measure_mm)]

        def draw(overleaf: Sheet, top: float) -> None:
            _draw_place(overleaf, top, job, _GARMENT_MM)

        place = Strip(_GARMENT_MM + 11.0 + words, draw)
        return [*threads, place], y
    taken, rest = take_strips(threads, room)
    flow_strips(taken, Place(sheet, y), lambda: Place(sheet, y), foot_mm=0.0)
    used = sum(strip.height_mm for strip in taken)
    tall = min(_GARMENT_MM, room - 11.0 - words)
    below = _draw_place(sheet, y, job, tall)
    return rest, min(y - used, below) - 2.0


def _place_words_mm(sheet: Sheet, job: PaperJob) -> float:
    """Return the height of the placement sentence beside the threads [mm]."""
    width = sheet.measure_mm * (1.0 - _PLACE_SHARE)
    lines = wrap(job.setup.garment.placement, width, SMALL, job.metrics)
    return len(lines) * SMALL.lead_mm


def _draw_place(sheet: Sheet, y: float, job: PaperJob, tall: float) -> float:
    """Draw the garment with the design in place, right of the threads; return the y below."""
    left = MARGIN_MM + sheet.measure_mm * _PLACE_SHARE
    heading_strip(_("Placement"), x=left).draw(sheet, y)
    box = (left, y - 9.0 - tall, sheet.right_mm - left, tall)
    below = draw_garment(sheet, box, job.setup.garment, job.region_map, unit=job.unit)
    where = job.setup.garment.placement
    return sheet.paragraph(left, below - 1.5, where, sheet.right_mm - left, SMALL)
