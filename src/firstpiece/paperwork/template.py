"""The placement template: true-size paper to lay on the garment, one for each garment size.

In: a job. Out: sheets with the design's outline, its crosshair, and the line that goes on the
collar seam, hem or edge it is measured from. A design that no hoop clears in one go gets a mark for
each hooping.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from firstpiece.model.hooping import clearing_hoops, hoop_edge, hooping_centres
from firstpiece.model.page import INK, LineItem
from firstpiece.paperwork.form import Head, say_length
from firstpiece.paperwork.garment_drawing import GarmentView, place_design
from firstpiece.paperwork.sheet import ACCENT, CAPTION, LABEL, Face
from firstpiece.paperwork.size_placement import size_view
from firstpiece.paperwork.tiles import Window, draw_tiles

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from firstpiece.model.material import Garment, Hoop
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.tiles import Bounds

_EDGE_MM = 10.0
_ARM_MM = 6.0
_SIMPLER_MM = 0.05
_GREY = (226, 221, 211)
_MARK = re.compile(r" mm (?:below|above) (.+?)(?: and \d+(?:\.\d+)? mm from the middle)?\.?$")


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things lie on a template, in mm round the design's centre.

    ``mark_y`` is the height of the line that goes on the garment's mark; None where the design is
    centred and nothing is measured. ``middle_x`` is the middle line of the garment, None where the
    design stands on it.
    """

    mark_y: float | None
    distance_mm: float | None
    bounds: Bounds
    middle_x: float | None = None


def draw_templates(job: PaperJob) -> tuple[Page, ...]:
    """Return the templates: one set of sheets for each garment size, or one for all."""
    usual = job.setup.garment
    views = [
        (row.garment or usual, row.size, size_view(row.garment or usual, row)) for row in job.sizes
    ]
    pages: list[Page] = []
    for garment, size, view in views or [(usual, "", GarmentView())]:
        pages += _draw_size(job, garment, size, view)
    return tuple(pages)


def _draw_size(job: PaperJob, garment: Garment, size: str, view: GarmentView) -> tuple[Page, ...]:
    layout = _layout(job, garment, view)
    hoop, centres = _hoopings(job)
    kind = _("Placement template")
    if size:
        kind = _("Placement template, size {size}").format(size=size)
    mark = f"{garment.label} · {job.revision} · {_('plan')} {job.plan.content_id()}"
    outline = _outline(job)

    def draw(window: Window) -> None:
        window.draw(outline, fill=_GREY, stroke=LABEL, stroke_mm=0.1)
        _draw_box(window, job)
        if len(centres) > 1 and hoop is not None:
            _draw_hoopings(window, hoop, centres)
        _draw_cross(window, (0.0, 0.0), _("centre of the design"))
        if layout.mark_y is not None and layout.distance_mm is not None:
            if layout.middle_x is not None:
                _draw_middle(window, layout.middle_x, job.unit)
            _draw_mark(window, layout, _mark_text(garment.placement), job.unit)

    note = "" if size else _("For every size.")
    look = (job.paper, job.metrics, job.unit)
    return draw_tiles(look, Head(job.title, kind, mark), layout.bounds, draw, note=note)


def _layout(job: PaperJob, garment: Garment, view: GarmentView) -> Layout:
    """Return what the template holds: design, mark and a little paper round them."""
    half = (job.region_map.width_mm / 2, job.region_map.height_mm / 2)
    place = place_design(garment, job.region_map.height_mm, view)
    mark_y = None if place.distance is None else place.mark_y - place.y
    low = min(-half[1], mark_y if mark_y is not None else -half[1]) - _EDGE_MM
    high = max(half[1], mark_y if mark_y is not None else half[1]) + _EDGE_MM
    wide = max(half[0] + _EDGE_MM, 40.0)
    middle_x = -place.across if place.across else None
    left = min(-wide, (middle_x or 0.0) - _EDGE_MM)
    return Layout(mark_y, place.distance, (left, low, wide, high), middle_x)


def _hoopings(job: PaperJob) -> tuple[Hoop | None, tuple[tuple[float, float], ...]]:
    """Return the hoop to use and where its centre goes, hooping by hooping."""
    hoops = job.setup.hoops
    clear = clearing_hoops(job.plan, hoops)
    if clear or not hoops:
        return (clear[0] if clear else None), ((0.0, 0.0),)
    return hoops[-1], hooping_centres(job.plan, hoops[-1])


def _outline(job: PaperJob) -> BaseGeometry:
    whole = shapely.union_all([r.polygon for r in job.region_map.sewn_regions])
    # Closing hairline gaps first: neighbours that touch are one piece of thread.
    return whole.buffer(0.1).buffer(-0.1).simplify(_SIMPLER_MM)


def _draw_box(window: Window, job: PaperJob) -> None:
    """Draw the box of the design and the lines through its middle."""
    half = (job.region_map.width_mm / 2, job.region_map.height_mm / 2)
    box = shapely.box(-half[0], -half[1], half[0], half[1])
    window.draw(box.exterior, stroke=LABEL, stroke_mm=0.12)
    left, bottom, right, top = window.bounds
    window.draw(shapely.LineString([(0, bottom), (0, top)]), stroke=INK, stroke_mm=0.12)
    window.draw(shapely.LineString([(left, 0), (right, 0)]), stroke=INK, stroke_mm=0.12)


def _draw_cross(window: Window, at: tuple[float, float], label: str) -> None:
    """Draw a crosshair where its middle lies in the window."""
    left, bottom, right, top = window.bounds
    if not (left <= at[0] <= right and bottom <= at[1] <= top):
        return
    x, y = window.put(*at)
    for dx, dy in ((_ARM_MM, 0.0), (0.0, _ARM_MM)):
        window.sheet.items.append(LineItem(x - dx, y - dy, x + dx, y + dy, 0.3))
    turn = np.linspace(0, 2 * np.pi, 37)
    ring = shapely.LineString(np.column_stack([np.cos(turn), np.sin(turn)]) * 3.0 + at)
    window.draw(ring, stroke=INK, stroke_mm=0.2)
    face = Face(CAPTION.size_pt, rgb=INK)
    width = window.sheet.metrics.width_mm(window.sheet.metrics.printable(label), face.size_pt)
    start = min(x + 4.2, window.sheet.right_mm - width - 0.6)
    window.sheet.box(start - 0.6, y + 3.2, (width + 1.2, 3.2), (255, 255, 255), None)
    window.sheet.text(start, y + 4.0, label, face)


def _draw_mark(window: Window, layout: Layout, sentence: str, unit: str) -> None:
    """Draw the line that is laid on the garment's mark, and the distance to the design."""
    assert layout.mark_y is not None
    assert layout.distance_mm is not None
    left, bottom, right, top = window.bounds
    y = layout.mark_y
    window.draw(shapely.LineString([(left, y), (right, y)]), stroke=ACCENT, stroke_mm=0.4)
    if bottom <= y <= top:
        at = window.put(left, y)
        room = right - left - 3.0
        # Above the line, or below it when the line is the upper end of the sheet's drawing.
        rise = 1.6 if y < 0 else -4.4
        window.sheet.fit(at[0] + 1.5, at[1] + rise, sentence, room, Face(7.5, rgb=ACCENT))
    toward = y - layout.distance_mm if y > 0 else y + layout.distance_mm
    x = max(left + 6.0, min(right - 20.0, 20.0))
    span = shapely.LineString([(x, y), (x, toward)])
    window.draw(span, stroke=ACCENT, stroke_mm=0.25)
    middle = (y + toward) / 2
    if bottom <= middle <= top and left <= x <= right:
        at = window.put(x, middle)
        label = say_length(layout.distance_mm, unit)
        window.sheet.text(at[0] + 1.5, at[1] - 1.0, label, Face(9.0, "bold", ACCENT))


def _draw_middle(window: Window, x: float, unit: str) -> None:
    """Draw the line that is laid on the garment's middle, and its distance from the design's."""
    left, bottom, right, top = window.bounds
    line = shapely.LineString([(x, bottom), (x, top)])
    window.draw(line, stroke=ACCENT, stroke_mm=0.4)
    span = shapely.LineString([(x, 0.0), (0.0, 0.0)])
    window.draw(span, stroke=ACCENT, stroke_mm=0.25)
    if left <= x <= right and bottom <= 0.0 <= top:
        at = window.put(x, 0.0)
        words = _("Lay this line on the middle of the garment.")
        window.sheet.fit(at[0] + 1.5, at[1] - 4.4, words, -x - 3.0, Face(7.5, rgb=ACCENT))
        label = say_length(-x, unit)
        window.sheet.text(at[0] + 1.5, at[1] + 1.2, label, Face(9.0, "bold", ACCENT))


def _mark_text(placement: str) -> str:
    """Return what the coloured line is laid on, from the garment's placement sentence."""
    said = _MARK.search(placement)
    if said is None:
        return placement
    return _("Lay this line on {place}.").format(place=said[1])


def _draw_hoopings(window: Window, hoop: Hoop, centres: tuple[tuple[float, float], ...]) -> None:
    """Draw each hooping's centre and the hoop's inner edge round it."""
    edge = hoop_edge(hoop)
    for number, centre in enumerate(centres, start=1):
        placed = affinity.translate(edge, *centre)
        window.draw(placed.exterior, stroke=LABEL, stroke_mm=0.25)
        label = _("hooping {n} of {total}, {hoop}").format(
            n=number, total=len(centres), hoop=hoop.label
        )
        _draw_cross(window, centre, label)
