"""The run sheet: what the person at the machine needs, on one page; the traveller, printed.

In: a job. Out: pages, one unless the thread list or the findings are long.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import INK
from firstpiece.paperwork.cautions import deferring_line, list_cautions, topping_text
from firstpiece.paperwork.flow import FOOT_MM, Place, Strip, flow_strips, gap, take_strips
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    note_strips,
    paragraph_strips,
    say_size,
)
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.hoop_drawing import chosen_hoop, draw_hoop
from firstpiece.paperwork.pins import findings_section, number_findings
from firstpiece.paperwork.sewing_order import color_blocks
from firstpiece.paperwork.sheet import CAPTION, MARGIN_MM, SMALL
from firstpiece.paperwork.thread_table import order_strips
from firstpiece.units import needle_trade_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.measured import Figure
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

_LEFT_SHARE = 0.42
_HOOP_MM = 72.0
_GARMENT_MM = 52.0


def draw_run_sheet(job: PaperJob) -> tuple[Page, ...]:
    """Return the run sheet: one page, or more when the thread list or the findings are long."""
    head = Head(job.title, _("Run sheet"), f"{job.revision} · {_('plan')} {job.plan.content_id()}")
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    y = draw_fields(sheet, first.y_mm + 3.0, _job_fields(job))
    y = draw_fields(sheet, y, _machine_fields(job))
    rest, y = _draw_columns(sheet, y, job)
    more, end = flow_strips(
        [*rest, *_lower_strips(job, sheet.measure_mm)],
        Place(sheet, y),
        lambda: begin_sheet(job.paper, job.metrics, head),
    )
    _draw_notes(end)
    sheets = [sheet, *more]
    draw_feet(sheets, f"{job.title} · {head.mark}")
    return tuple(s.page(f"{_('Run sheet')}: {job.title}") for s in sheets)


def _job_fields(job: PaperJob) -> list[Field]:
    region_map, forecast = job.region_map, job.forecast
    return [
        Field(_("garment"), job.setup.garment.label, 1.8),
        Field(_("design, width × height"),
            say_size(region_map.width_mm, region_map.height_mm, job.unit), 1.3),
        Field(_("stitches"), f"{forecast.n_stitches:,}".replace(",", "\u202f"), 0.75),
        Field(_("minutes a piece"), _band(forecast.sewing_minutes, 0), 0.95),
        Field(_("stops, trims"), f"{_n_stops(job)}, {forecast.n_trims}", 0.75),
    ]  # fmt: skip


def _machine_fields(job: PaperJob) -> list[Field]:
    setup, hoop = job.setup, chosen_hoop(job)
    needle = f"{needle_trade_number(setup.needle.metric_size)} {setup.needle.point}"
    return [
        Field(_("hoop"), hoop.label if hoop else _("none clears"), 1.3),
        Field(_("backing"), setup.backing.label, 1.6),
        Field(_("topping"), topping_text(setup), 1.2),
        Field(_("needle"), needle, 0.8),
        Field(_("bobbin, metres"), _band(job.forecast.bobbin_m, 1), 1.0),
    ]


def _n_stops(job: PaperJob) -> int:
    """Return how often the machine waits for a new colour."""
    return max(0, len(color_blocks(job.plan, job.forecast, job.setup.machine)) - 1)


def _band(figure: Figure, digits: int) -> str:
    """Return a figure with the band it may lie in."""
    low, mid, high = (
        f"{v:.{digits}f}" for v in (figure.band.p05, figure.band.p50, figure.band.p95)
    )
    return mid if low == high else f"{mid} ({low}–{high})"


def _draw_columns(sheet: Sheet, y: float, job: PaperJob) -> tuple[Sequence[Strip], float]:
    """Draw hoop and garment at the left, the sewing order at the right."""
    left_width = sheet.measure_mm * _LEFT_SHARE
    heading_strip(_("In the hoop")).draw(sheet, y)
    hoop_box = (MARGIN_MM, y - 9.0 - _HOOP_MM, left_width, _HOOP_MM)
    draw_hoop(sheet, hoop_box, job)
    below = hoop_box[1]
    heading_strip(_("On the garment")).draw(sheet, below)
    garment_box = (MARGIN_MM, below - 9.0 - _GARMENT_MM, left_width, _GARMENT_MM)
    draw_garment(sheet, garment_box, job.setup.garment, job.region_map, unit=job.unit)
    x = MARGIN_MM + left_width + 7.0
    width = sheet.right_mm - x
    strips = [
        heading_strip(_("Sewing order"), x=x),
        *order_strips(job, x, width),
        gap(0.8),
        *note_strips(_order_note(job), (x, width), job.metrics),
        heading_strip(_("Placement"), x=x),
        *paragraph_strips(job.setup.garment.placement, (x, width), job.metrics),
        heading_strip(_("Take care"), x=x),
        *_caution_strips(job, x, width),
    ]
    # The right column may run on to the foot; what is longer than that goes on overleaf.
    taken, rest = take_strips(strips, y - FOOT_MM)
    end = flow_strips(taken, Place(sheet, y), lambda: Place(sheet, y), foot_mm=0.0)[1]
    return rest, min(garment_box[1], end.y_mm) - 1.0


def _order_note(job: PaperJob) -> str:
    machine = job.setup.machine
    return _(
        "{thread}; minutes by the card of “{machine}”, colour changes included; metres of top "
        "thread a piece."
    ).format(thread=job.setup.thread.label, machine=machine.label)


def _caution_strips(job: PaperJob, x: float, width: float) -> list[Strip]:
    strips: list[Strip] = []
    for line in list_cautions(job.setup):
        rows = paragraph_strips(line, (x + 4.0, width - 4.0), job.metrics, SMALL)
        strips += [_marked(rows[0], x), *rows[1:], gap(0.9)]
    return [*strips, *note_strips(deferring_line(), (x, width), job.metrics)]


def _marked(strip: Strip, x: float) -> Strip:
    """Return the first line of a caution with a box to tick before it."""

    def draw(sheet: Sheet, y: float) -> None:
        sheet.box(x, y - 3.1, (2.2, 2.2), None, INK)
        strip.draw(sheet, y)

    return Strip(strip.height_mm, draw)


def _lower_strips(job: PaperJob, measure: float) -> list[Strip]:
    return [
        heading_strip(_("To know before sewing")),
        *findings_section(number_findings(job), job.metrics, measure, advise=False),
        gap(1.0),
    ]


def _draw_notes(end: Place) -> None:
    """Draw lines for notes in what is left of the last sheet."""
    y = end.y_mm - 9.0
    if y < 30.0:
        return
    end.sheet.text(MARGIN_MM, end.y_mm - 5.0, _("notes from the machine"), CAPTION)
    while y > 20.0:
        end.sheet.rule(MARGIN_MM, y - 3.5, end.sheet.right_mm)
        y -= 7.5
