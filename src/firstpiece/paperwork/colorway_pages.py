"""Choices of colour: a page for each colourway, and one sheet that shows them all side by side.

In: a job with colourways. Out: pages. Each colourway is the whole job in other threads, so its
picture, its threads and its plan hash are its own.
"""

from __future__ import annotations

import math
import string
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.design_drawing import scale_to_fit
from firstpiece.paperwork.flow import Place, Strip, flow_strips
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    say_size,
)
from firstpiece.paperwork.picture_panel import (
    Panel,
    design_extent,
    draw_panel,
    panel_pixels,
    place_panel,
    scale_text,
)
from firstpiece.paperwork.ruler import draw_ruler
from firstpiece.paperwork.sheet import ACCENT, BODY, CAPTION, MARGIN_MM, RULE, SMALL, STRONG, Face

if TYPE_CHECKING:
    from firstpiece.model.material import ThreadColor
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.paper_details import PaperColorway
    from firstpiece.paperwork.sheet import Sheet

_ROW_MM = 6.2
_GAP_MM = 6.0
_CAPTION_MM = 15.0


def in_colorway(job: PaperJob, colorway: PaperColorway) -> PaperJob:
    """Return the job in the threads of a colourway, on its garment when it names one."""
    swapped = dict(zip((t.name for t in job.plan.threads), colorway.threads, strict=True))
    matches = tuple(
        replace(m, thread=swapped.get(m.thread.name, m.thread)) for m in job.region_map.matches
    )
    setup = job.setup
    if colorway.garment is not None:
        setup = replace(setup, garment=colorway.garment)
    return replace(
        job,
        plan=replace(job.plan, threads=colorway.threads),
        region_map=replace(job.region_map, matches=matches),
        setup=setup,
        colorways=(),
        sewout=None,
    )


def draw_colorway_page(job: PaperJob, colorway: PaperColorway) -> tuple[Page, ...]:
    """Return the proof page of one colourway, at true size where the sheet allows."""
    own = in_colorway(job, colorway)
    mark = f"{job.revision} · {_('plan')} {own.plan.content_id()}"
    head = Head(job.title, _("Proof, colourway {name}").format(name=colorway.name), mark)
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    size = say_size(job.region_map.width_mm, job.region_map.height_mm, job.unit)
    fields = [
        Field(_("colourway"), colorway.name, 1.2),
        Field(_("sewn on"), own.setup.garment.label, 1.7),
        Field(_("design, width × height"), size, 1.3),
        Field(_("threads"), str(len(own.plan.threads)), 0.5),
    ]
    y = draw_fields(sheet, first.y_mm + 3.0, fields)
    panel = place_panel(sheet, y - 8.0, own)
    draw_panel(sheet, panel, own, with_pins=False)
    corner = (MARGIN_MM, panel.bottom - 3.0)
    y = draw_ruler(sheet, corner, scale_text(panel), unit=job.unit)
    strips = [
        heading_strip(_("Threads of this colourway")),
        *(_thread_strip(t, o) for t, o in zip(own.plan.threads, job.plan.threads, strict=True)),
        _yes_strip(colorway.name, own),
    ]
    more, _end = flow_strips(
        strips, Place(sheet, y - 1.0), lambda: begin_sheet(job.paper, job.metrics, head)
    )
    sheets = [sheet, *more]
    draw_feet(sheets, f"{job.title} · {mark}")
    return tuple(s.page(f"{_('Proof')}: {job.title}, {colorway.name}") for s in sheets)


def _thread_strip(thread: ThreadColor, instead: ThreadColor) -> Strip:
    """Return one row: the thread, and which one of the design it stands for."""

    def draw(sheet: Sheet, y: float) -> None:
        half = sheet.measure_mm / 2
        sheet.box(MARGIN_MM, y - 5.0, (12.0, 3.8), thread.rgb, RULE)
        sheet.fit(MARGIN_MM + 15.0, y - 4.2, thread.name, half - 18.0)
        sheet.box(MARGIN_MM + half, y - 5.0, (6.0, 3.8), instead.rgb, RULE)
        said = _("in place of {thread}").format(thread=instead.name)
        sheet.fit(MARGIN_MM + half + 8.5, y - 4.2, said, half - 9.0, SMALL)
        sheet.rule(MARGIN_MM, y - _ROW_MM, sheet.right_mm)

    return Strip(_ROW_MM, draw)


def _yes_strip(name: str, job: PaperJob) -> Strip:
    text = _("I choose {colorway}, plan {plan}.").format(colorway=name, plan=job.plan.content_id())

    def draw(sheet: Sheet, y: float) -> None:
        sheet.rule(MARGIN_MM, y - 4.0, sheet.right_mm, ACCENT)
        sheet.fit(MARGIN_MM, y - 10.0, text, sheet.measure_mm, STRONG)
        third = sheet.measure_mm / 3
        for i, label in enumerate((_("name"), _("signature"), _("date"))):
            x = MARGIN_MM + third * i
            sheet.line(x, y - 24.0, x + third - 6.0, y - 24.0)
            sheet.text(x, y - 27.2, label, CAPTION)

    return Strip(29.0, draw)


def draw_contact_sheet(job: PaperJob) -> tuple[Page, ...]:
    """Return all choices side by side, lettered; none when there is nothing to choose."""
    if not job.colorways:
        return ()
    choices = [(_("as designed"), job)]
    choices += [(c.name, in_colorway(job, c)) for c in job.colorways]
    head = Head(job.title, _("Choices"), _("please tell the letter you like"))
    place = begin_sheet(job.paper, job.metrics, head)
    sheets = [place.sheet]
    n_columns = 2 if len(choices) <= 4 else 3
    y = place.y_mm
    width = (place.sheet.measure_mm - _GAP_MM * (n_columns - 1)) / n_columns
    size = design_extent(job)
    scale = scale_to_fit(size, (width - 8.0, 84.0))
    height = max(24.0, size[1] * scale + 8.0)
    for first in range(0, len(choices), n_columns):
        if y - height - _CAPTION_MM < MARGIN_MM + 8.0:
            place = begin_sheet(job.paper, job.metrics, head)
            sheets.append(place.sheet)
            y = place.y_mm
        for k, (name, own) in enumerate(choices[first : first + n_columns]):
            x = MARGIN_MM + k * (width + _GAP_MM)
            panel = Panel(x, y - height, width, height, scale)
            _draw_choice(sheets[-1], panel, own, (_letter(first + k), name))
        y -= height + _CAPTION_MM
    draw_feet(sheets, f"{job.title} · {job.revision}")
    return tuple(s.page(f"{_('Choices')}: {job.title}") for s in sheets)


def _letter(i: int) -> str:
    """Return A … Z, then A2 … ."""
    letters = string.ascii_uppercase
    round_no = i // len(letters)
    return letters[i % len(letters)] + (str(round_no + 1) if round_no else "")


def _draw_choice(sheet: Sheet, panel: Panel, job: PaperJob, label: tuple[str, str]) -> None:
    letter, name = label
    sheet.picture(panel.left, panel.bottom, (panel.width, panel.height), panel_pixels(job, panel))
    y = panel.bottom - 4.6
    sheet.text(panel.left, y, letter, Face(11.0, "bold", ACCENT))
    sheet.fit(panel.left + 7.0, y, name, panel.width - 7.0, BODY)
    said = _("{garment}, plan {plan}").format(
        garment=job.setup.garment.label, plan=job.plan.content_id()
    )
    sheet.fit(panel.left, y - 3.6, said, panel.width, CAPTION)
    side = min(6.0, panel.width / max(1, len(job.plan.threads)))
    for i, thread in enumerate(job.plan.threads):
        sheet.box(panel.left + side * i, y - 8.2, (math.floor(side * 10) / 10, 3.0), thread.rgb,
            RULE)  # fmt: skip
