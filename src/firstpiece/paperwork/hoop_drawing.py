"""The smallest hoop that clears, with the design in it and the clearance that is left.

In: the set-up and the plan. Out: a line drawing; a plain refusal where no hoop clears.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.hooping import clearance_mm, clearing_hoops, hooping_centres, needle_places
from firstpiece.model.page import INK
from firstpiece.paperwork.design_drawing import draw_design
from firstpiece.paperwork.form import say_length
from firstpiece.paperwork.pins import draw_pins, number_findings
from firstpiece.paperwork.sheet import ACCENT, CAPTION, LABEL, QUIET, RULE, Face

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Hoop
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

_RING_MM = 7.0


def needle_box(job: PaperJob) -> tuple[float, float]:
    """Return the box centred on the art that holds every needle place: width, height [mm]."""
    places = needle_places(job.plan)
    if not len(places):
        return (0.0, 0.0)
    reach = np.abs(places).max(axis=0)
    return (2 * float(reach[0]), 2 * float(reach[1]))


def chosen_hoop(job: PaperJob) -> Hoop | None:
    """Return the smallest of the garment's hoops that clears the sewing, or None."""
    return next(iter(clearing_hoops(job.plan, job.setup.hoops)), None)


def draw_hoop(sheet: Sheet, box: tuple[float, float, float, float], job: PaperJob) -> None:
    """Draw hoop, sewing field, centre marks and design into a box (left, bottom, width, height)."""
    hoop = chosen_hoop(job)
    middle = (box[0] + box[2] / 2, box[1] + box[3] / 2)
    if hoop is None:
        _refuse(sheet, box, job)
        return
    outer = (hoop.width_mm + 2 * _RING_MM, hoop.height_mm + 2 * _RING_MM)
    scale = min(box[2] / outer[0], (box[3] - 5.0) / outer[1])
    middle = (middle[0], middle[1] + 2.5)
    corner = 0.0 if hoop.is_round else 16.0
    ring = _outline(outer, hoop.is_round, corner + _RING_MM)
    inner = _outline((hoop.width_mm, hoop.height_mm), hoop.is_round, corner)
    sheet.shape([_put(inner, middle, scale)], fill=job.setup.garment.rgb)
    sheet.shape([_put(ring, middle, scale), _put(inner, middle, scale)], fill=RULE, stroke=INK)
    margin = hoop.margin_mm
    field = _outline(
        (hoop.width_mm - 2 * margin, hoop.height_mm - 2 * margin), hoop.is_round, corner * 0.6
    )
    sheet.shape([_put(field, middle, scale)], stroke=LABEL, stroke_mm=0.1)
    _draw_axes(sheet, middle, (outer[0] * scale / 2, outer[1] * scale / 2))
    draw_design(sheet, job.region_map, middle, scale)
    draw_pins(sheet, number_findings(job), middle, scale, radius=1.5)
    text = _("{hoop}: {clear} clear at the nearest point, {margin} needed").format(
        hoop=hoop.label,
        clear=say_length(clearance_mm(job.plan, hoop), job.unit),
        margin=say_length(margin, job.unit),
    )
    sheet.fit(middle[0], box[1] + 0.8, text, box[2], Face(CAPTION.size_pt, rgb=INK, align="centre"))


def _refuse(sheet: Sheet, box: tuple[float, float, float, float], job: PaperJob) -> None:
    sheet.box(box[0], box[1], (box[2], box[3]), None, ACCENT)
    text = _(
        "No hoop of this garment clears the design. Do not sew: the needle would strike the ring."
    )
    below = sheet.paragraph(
        box[0] + 4, box[1] + box[3] - 4, text, box[2] - 8, Face(11.0, "bold", ACCENT)
    )
    width, height = needle_box(job)
    advice = _("The sewing needs {w} by {h} with its margin; make the design smaller or split it.")
    if job.setup.hoops:
        hoop = job.setup.hoops[-1]
        n = len(hooping_centres(job.plan, hoop))
        advice = _(
            "The sewing takes {w} by {h}. Make it smaller, or split it into {n} hoopings of "
            "{hoop}: the placement template marks them."
        ).format(w="{w}", h="{h}", n=n, hoop=hoop.label)
    advice = advice.format(w=say_length(width, job.unit), h=say_length(height, job.unit))
    sheet.paragraph(box[0] + 4, below - 2, advice, box[2] - 8, QUIET)


def _draw_axes(sheet: Sheet, middle: tuple[float, float], reach: tuple[float, float]) -> None:
    """Draw the hoop's centre marks on its ring."""
    x, y = middle
    for sign in (-1.0, 1.0):
        sheet.line(x + sign * (reach[0] - 3.0), y, x + sign * (reach[0] + 1.2), y)
        sheet.line(x, y + sign * (reach[1] - 3.0), x, y + sign * (reach[1] + 1.2))


def _outline(size: tuple[float, float], is_round: bool, corner: float) -> NDArray[np.float64]:  # noqa: FBT001
    """Return an ellipse or a rectangle with round corners, centred, (n, 2) [mm]."""
    angle = np.linspace(0.0, 2 * math.pi, 73)[:-1]
    unit = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    half = np.array(size) / 2
    if is_round:
        return unit * half
    corner = min(corner, float(half.min()))
    ring: NDArray[np.float64] = unit * corner + np.sign(np.round(unit, 9)) * (half - corner)
    return ring


def _put(
    ring: NDArray[np.float64], middle: tuple[float, float], scale: float
) -> NDArray[np.float64]:
    moved: NDArray[np.float64] = ring * scale + np.array(middle)
    return moved
