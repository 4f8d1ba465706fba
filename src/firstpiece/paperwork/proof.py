"""The proof: what the customer agrees to, at true size on the garment's colour.

In: a job. Out: pages. The first page carries the picture, a check ruler and the threads; whatever
does not fit goes on to the next sheets.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.agreement import agreement_strips
from firstpiece.paperwork.colorway_pages import draw_colorway_page
from firstpiece.paperwork.flow import Place, Strip, flow_strips, take_strips
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    in_unit,
    say_size,
)
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.picture_panel import draw_panel, place_panel, scale_text
from firstpiece.paperwork.ruler import draw_ruler
from firstpiece.paperwork.sheet import MARGIN_MM, SMALL, wrap
from firstpiece.paperwork.thread_table import match_strips
from firstpiece.paperwork.tiles import draw_true_size

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.material import Garment
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

_GARMENT_MM = 62.0
_PLACE_SHARE = 0.66


def draw_proof(job: PaperJob) -> tuple[Page, ...]:
    """Return the proof's pages."""
    head = Head(job.title, _("Proof"), f"{job.revision} · {_('plan')} {job.plan.content_id()}")
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    y = draw_fields(sheet, first.y_mm + 3.0, _fields(job))
    panel = place_panel(sheet, y - 8.0, job)
    draw_panel(sheet, panel, job)
    corner = (MARGIN_MM, panel.bottom - 3.0)
    y = draw_ruler(sheet, corner, scale_text(panel), unit=job.unit)
    rest, y = _draw_columns(sheet, y - 2.0, job)
    more, _end = flow_strips(
        [*rest, *agreement_strips(job, sheet.measure_mm)],
        Place(sheet, y),
        lambda: begin_sheet(job.paper, job.metrics, head),
    )
    sheets = [sheet, *more]
    draw_feet(sheets, f"{job.title} · {head.mark}")
    pages = [s.page(f"{_('Proof')}: {job.title}") for s in sheets]
    for colorway in job.colorways:
        pages += draw_colorway_page(job, colorway)
    if job.in_tiles and panel.scale < 1.0:
        pages += draw_true_size(job)
    return tuple(pages)


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
    lines = [line for said in _where(job) for line in wrap(said, width, SMALL, job.metrics)]
    return len(lines) * SMALL.lead_mm


def _draw_place(sheet: Sheet, y: float, job: PaperJob, tall: float) -> float:
    """Draw the garment with the design in place, right of the threads; return the y below."""
    left = MARGIN_MM + sheet.measure_mm * _PLACE_SHARE
    heading_strip(_("Placement"), x=left).draw(sheet, y)
    box = (left, y - 9.0 - tall, sheet.right_mm - left, tall)
    garment = _garments(job)[0]
    below = draw_garment(sheet, box, garment, job.region_map, unit=job.unit)
    below -= 1.5
    for said in _where(job):
        below = sheet.paragraph(left, below, said, sheet.right_mm - left, SMALL)
    return below


def _garments(job: PaperJob) -> tuple[Garment, ...]:
    """Return the garments in the words of where the order puts the design, each place once."""
    ordered = {row.garment.placement: row.garment for row in job.sizes if row.garment}
    return tuple(ordered.values()) or (job.setup.garment,)


def _where(job: PaperJob) -> list[str]:
    """Return where the design goes, by size where that differs."""
    garments = _garments(job)
    if len(garments) == 1:
        return [in_unit(garments[0].placement, job.unit)]
    sizes: dict[str, list[str]] = {}
    for row in job.sizes:
        if row.garment:
            sizes.setdefault(row.garment.placement, []).append(row.size or row.garment.label)
    return [f"{', '.join(labels)}: {in_unit(said, job.unit)}" for said, labels in sizes.items()]
