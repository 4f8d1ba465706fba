"""The run sheet: what the person at the machine needs, on one page; the traveller, printed.

In: a job. Out: one page. It is set as airily as it can be: when everything does not fit, drawings
shrink and lines close up step by step, and last of all the lesser findings stay on the proof.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import INK
from firstpiece.paperwork.cautions import deferring_line, list_cautions, topping_text
from firstpiece.paperwork.flow import FOOT_MM, Place, Strip, flow_strips, gap
from firstpiece.paperwork.form import (
    Field,
    Head,
    begin_sheet,
    draw_feet,
    draw_fields,
    heading_strip,
    in_unit,
    note_strips,
    paragraph_strips,
    say_size,
)
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.hoop_drawing import chosen_hoop, draw_hoop
from firstpiece.paperwork.needle_drawing import HEIGHT_MM as NEEDLES_MM
from firstpiece.paperwork.needle_drawing import changes_text, draw_needles
from firstpiece.paperwork.pins import findings_section, number_findings
from firstpiece.paperwork.protective_wear import SewnMark
from firstpiece.paperwork.sewing_order import color_blocks
from firstpiece.paperwork.sheet import BODY, CAPTION, HEADING, MARGIN_MM, QUIET, SMALL, Face, wrap
from firstpiece.paperwork.size_table import size_strips
from firstpiece.paperwork.thread_table import order_strips
from firstpiece.units import needle_trade_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.measured import Figure
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

_LEFT_SHARE = 0.42
_NOTES_MM = 16.0


@dataclass(frozen=True, slots=True)
class Setting:
    """How tightly the page is set: heights [mm], letters, findings shown (None: all)."""

    hoop_mm: float
    garment_mm: float
    row_mm: float
    face: Face
    findings: int | None = None

    @property
    def heading(self) -> Face:
        """The face of a heading."""
        return HEADING if self.face is BODY else Face(9.5, "bold")


SETTINGS = (
    Setting(72.0, 52.0, 6.2, BODY),
    Setting(60.0, 44.0, 5.6, SMALL),
    Setting(50.0, 36.0, 5.0, Face(7.0)),
    Setting(42.0, 30.0, 4.4, Face(6.5)),
    Setting(36.0, 26.0, 3.8, Face(6.0)),
    *(Setting(36.0, 26.0, 3.6, Face(6.0), n) for n in (16, 10, 6, 3, 0)),
)


def draw_run_sheet(job: PaperJob) -> tuple[Page, ...]:
    """Return the run sheet: one page, set as airily as everything on it allows."""
    sheets: list[Sheet] = []
    for setting in SETTINGS:
        sheets = _draw(job, setting)
        if len(sheets) == 1:
            break
    draw_feet(sheets, f"{job.title} · {_mark(job)}")
    return tuple(s.page(f"{_('Run sheet')}: {job.title}") for s in sheets)


def _mark(job: PaperJob) -> str:
    return f"{job.revision} · {_('plan')} {job.plan.content_id()}"


def _draw(job: PaperJob, setting: Setting) -> list[Sheet]:
    """Return the sheets that one setting takes."""
    head = Head(job.title, _("Run sheet"), _mark(job))
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    y = draw_fields(sheet, first.y_mm + 3.0, _job_fields(job))
    y = draw_fields(sheet, y, _machine_fields(job))
    y = _draw_tickets(sheet, y, job)
    more, end = _draw_columns(Place(sheet, y), job, setting, head)
    added, end = flow_strips(
        _lower_strips(job, setting, sheet.measure_mm),
        end,
        lambda: begin_sheet(job.paper, job.metrics, head),
    )
    _draw_notes(end)
    return [sheet, *more, *added]


def _has_sizes(job: PaperJob) -> bool:
    """Return whether there is more than one garment of no size in particular."""
    return len(job.sizes) > 1 or any(row.size for row in job.sizes)


def _job_fields(job: PaperJob) -> list[Field]:
    region_map, forecast = job.region_map, job.forecast
    n_pieces = sum(row.pieces for row in job.sizes)
    pieces = [Field(_("pieces"), str(n_pieces), 0.5)] if n_pieces else []
    return [
        Field(_("garment"), job.setup.garment.label, 1.8),
        *pieces,
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


def _draw_tickets(sheet: Sheet, y: float, job: PaperJob) -> float:
    """Draw the codes of the pieces in one line, the first and the last of many."""
    if not job.tickets:
        return y
    codes = list(job.tickets)
    face = Face(8.5, "bold")
    room = sheet.measure_mm - 24.0

    def line(shown: Sequence[str]) -> str:
        return "   ".join(sheet.metrics.printable(code) for code in shown)

    shown = codes
    keep = len(codes)
    while keep > 2 and sheet.metrics.width_mm(line(shown), face.size_pt, face.weight) > room:
        keep -= 1
        shown = [*codes[: keep - 1], _("… to"), codes[-1]]
    sheet.text(MARGIN_MM, y - 4.6, _("tickets"), CAPTION)
    sheet.fit(MARGIN_MM + 16.0, y - 4.8, line(shown), room, face)
    sheet.rule(MARGIN_MM, y - 7.0, sheet.right_mm)
    return y - 7.0


def _draw_columns(
    place: Place, job: PaperJob, setting: Setting, head: Head
) -> tuple[list[Sheet], Place]:
    """Draw hoop and garment at the left, the sewing order and cautions at the right."""
    sheet, y = place.sheet, place.y_mm
    left_width = sheet.measure_mm * _LEFT_SHARE
    heading_strip(_("In the hoop"), face=setting.heading).draw(sheet, y)
    bottom = y - 9.0 - setting.hoop_mm
    draw_hoop(sheet, (MARGIN_MM, bottom, left_width, setting.hoop_mm), job)
    if _has_sizes(job):
        room = (setting.garment_mm + 30.0) * min(1.0, 0.5 + len(job.sizes) / 8)
        strips = size_strips(job, (MARGIN_MM, left_width), room)
        strips.insert(0, heading_strip(_("On the garment, by size"), face=setting.heading))
        bottom = flow_strips(strips, Place(sheet, bottom), lambda: place, foot_mm=0.0)[1].y_mm
    else:
        heading_strip(_("On the garment"), face=setting.heading).draw(sheet, bottom)
        bottom -= 9.0 + setting.garment_mm
        box = (MARGIN_MM, bottom, left_width, setting.garment_mm)
        garment = (job.sizes and job.sizes[0].garment) or job.setup.garment
        draw_garment(sheet, box, garment, job.region_map, unit=job.unit)
    x = MARGIN_MM + left_width + 7.0
    added, end = flow_strips(
        _right_strips(job, setting, (x, sheet.right_mm - x)),
        place,
        lambda: begin_sheet(job.paper, job.metrics, head),
        foot_mm=FOOT_MM,
    )
    if added:
        return added, end
    return [], Place(sheet, min(bottom, end.y_mm) - 1.0)


def _right_strips(job: PaperJob, setting: Setting, box: tuple[float, float]) -> list[Strip]:
    x, width = box
    face = setting.heading
    said = changes_text(job)
    strips = [
        heading_strip(_("Sewing order"), x=x, face=face),
        *order_strips(job, x, width, row_mm=setting.row_mm),
        gap(0.8),
        *note_strips(_order_note(job), box, job.metrics),
        gap(1.0),
        Strip(NEEDLES_MM, lambda sheet, y: _needle_strip(sheet, y, job, box)),
        *(paragraph_strips(said, box, job.metrics, setting.face) if said else []),
    ]
    if not _has_sizes(job):
        strips.append(heading_strip(_("Placement"), x=x, face=face))
        where = in_unit(job.setup.garment.placement, job.unit)
        strips += paragraph_strips(where, box, job.metrics, setting.face)
    return [
        *strips,
        heading_strip(_("Take care"), x=x, face=face),
        *_caution_strips(job, box, setting),
    ]


def _needle_strip(sheet: Sheet, y: float, job: PaperJob, box: tuple[float, float]) -> None:
    draw_needles(sheet, (box[0], y, box[1]), job)


def _order_note(job: PaperJob) -> str:
    machine = job.setup.machine
    return _(
        "{thread}; minutes by the card of “{machine}”, colour changes included; metres of top "
        "thread a piece."
    ).format(thread=job.setup.thread.label, machine=machine.label)


def _caution_strips(job: PaperJob, box: tuple[float, float], setting: Setting) -> list[Strip]:
    x, width = box
    face = SMALL if setting.face is BODY else setting.face
    strips: list[Strip] = []
    for line in list_cautions(job.setup, _mark_sewn(job)):
        rows = paragraph_strips(line, (x + 4.0, width - 4.0), job.metrics, face)
        strips += [_marked(rows[0], x), *rows[1:], gap(0.12 * face.size_pt)]
    quiet = Face(min(face.size_pt, QUIET.size_pt), rgb=QUIET.rgb)
    return [*strips, *paragraph_strips(deferring_line(), box, job.metrics, quiet)]


def _mark_sewn(job: PaperJob) -> SewnMark:
    """Return what this design puts on a garment, for cautions with numbers."""
    return SewnMark(
        job.region_map.width_mm,
        job.region_map.height_mm,
        sum(r.polygon.area for r in job.region_map.sewn_regions),
        job.plan.n_stitches,
        fibre=job.setup.thread.fibre,
    )


def _marked(strip: Strip, x: float) -> Strip:
    """Return the first line of a caution with a box to tick before it."""

    def draw(sheet: Sheet, y: float) -> None:
        side = min(2.2, strip.height_mm * 0.65)
        sheet.box(x, y - 0.85 * strip.height_mm, (side, side), None, INK)
        strip.draw(sheet, y)

    return Strip(strip.height_mm, draw)


def _lower_strips(job: PaperJob, setting: Setting, measure: float) -> list[Strip]:
    found = number_findings(job)
    shown = found if setting.findings is None else found[: setting.findings]
    strips: list[Strip] = []
    if job.last_time:
        strips += _last_time_strips(job, measure, setting)
    strips.append(heading_strip(_("To know before sewing"), face=setting.heading))
    if shown or not found:
        strips += findings_section(shown, job.metrics, measure, advise=False, face=setting.face)
    if len(shown) < len(found):
        rest = _("{n} lesser remarks are on the proof.").format(n=len(found) - len(shown))
        strips += note_strips(rest, (MARGIN_MM, measure), job.metrics)
    # Room for notes is part of the page, not what happens to be left of it.
    return [*strips, gap(_NOTES_MM)]


def _last_time_strips(job: PaperJob, measure: float, setting: Setting) -> list[Strip]:
    """Return what the last sew-out taught."""
    strips = [heading_strip(_("Last time"), face=setting.heading)]
    for line in job.last_time:
        n_lines = len(wrap(line, measure - 4.0, setting.face, job.metrics))
        rows = paragraph_strips(line, (MARGIN_MM + 4.0, measure - 4.0), job.metrics, setting.face)
        assert len(rows) == n_lines
        strips += [_dashed(rows[0], setting.face), *rows[1:]]
    return strips


def _dashed(strip: Strip, face: Face) -> Strip:
    def draw(sheet: Sheet, y: float) -> None:
        sheet.text(MARGIN_MM, y - 0.72 * face.lead_mm, "–", face)
        strip.draw(sheet, y)

    return Strip(strip.height_mm, draw)


def _draw_notes(end: Place) -> None:
    """Draw lines for notes in what is left of the last sheet."""
    top = end.y_mm + _NOTES_MM
    end.sheet.text(MARGIN_MM, top - 4.0, _("notes from the machine"), CAPTION)
    y = top - 10.0
    while y > 18.5:
        end.sheet.rule(MARGIN_MM, y, end.sheet.right_mm)
        y -= 7.0
