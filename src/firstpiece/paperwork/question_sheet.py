"""The question sheet: the cleaned design with lettered areas, and what each letter asks.

In: the areas and the open questions. Out: pages to send along with the message; the customer ticks.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.page import INK
from firstpiece.paperwork.design_drawing import draw_design, polygon_rings, scale_to_fit
from firstpiece.paperwork.flow import Place, Strip, flow_strips
from firstpiece.paperwork.form import Head, begin_sheet, draw_feet, say_size
from firstpiece.paperwork.pins import PIN_MM, draw_pin, draw_spread
from firstpiece.paperwork.sheet import ACCENT, BODY, CAPTION, LABEL, MARGIN_MM, wrap

if TYPE_CHECKING:
    from firstpiece.model.material import RGB
    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics, QuestionJob
    from firstpiece.model.question import Question
    from firstpiece.paperwork.sheet import Sheet

_TALLEST_MM = 125.0
_CLOTH_MM = 10.0
_MARK_MM = 3.0


def draw_question_sheet(job: QuestionJob) -> tuple[Page, ...]:
    """Return the pages; none when nothing is open."""
    if not job.questions.items:
        return ()
    head = Head(job.title, _("Questions"), _("please tick one answer each and send it back"))
    first = begin_sheet(job.paper, job.metrics, head)
    sheet = first.sheet
    y = _draw_picture(sheet, first.y_mm, job)
    strips = [_question_strip(q, sheet.measure_mm, job.metrics) for q in job.questions.items]
    more, _end = flow_strips(
        strips, Place(sheet, y), lambda: begin_sheet(job.paper, job.metrics, head)
    )
    sheets = [sheet, *more]
    draw_feet(sheets, job.title)
    return tuple(s.page(f"{_('Questions')}: {job.title}") for s in sheets)


def _draw_picture(sheet: Sheet, top: float, job: QuestionJob) -> float:
    """Draw the design on its cloth with a letter in each area asked about; return the y below."""
    region_map = job.region_map
    size = (region_map.width_mm, region_map.height_mm)
    width = sheet.measure_mm
    room = (width - 2 * _CLOTH_MM, _TALLEST_MM - 2 * _CLOTH_MM)
    # Small designs are shown larger than they will be sewn: letters need room.
    scale = scale_to_fit(size, room)
    if scale == 1.0 and min(size) > 0:
        scale = min(3.0, room[0] / size[0], room[1] / size[1])
    height = size[1] * scale + 2 * _CLOTH_MM
    middle = (MARGIN_MM + width / 2, top - height / 2)
    sheet.box(MARGIN_MM, top - height, (width, height), job.cloth_rgb, LABEL)
    draw_design(sheet, region_map, middle, scale)
    _outline_asked(sheet, job, middle, scale)
    spots = [(middle[0] + scale * q.where_mm[0], middle[1] + scale * q.where_mm[1])
        for q in job.questions.items]  # fmt: skip
    draw_spread(sheet, spots, [q.letter for q in job.questions.items], _MARK_MM)
    text = _("The picture as it was understood: {size} when sewn, drawn here at {p:.0f} %.").format(
        size=say_size(*size, job.unit), p=100 * scale
    )
    sheet.fit(MARGIN_MM, top - height - 4.0, text, width, CAPTION)
    return top - height - 8.0


def _outline_asked(
    sheet: Sheet, job: QuestionJob, middle: tuple[float, float], scale: float
) -> None:
    """Draw the outlines of every area a question is about."""
    asked = sorted({i for q in job.questions.items for i in q.region_ids})
    rgb: RGB = ACCENT if _contrast(job.cloth_rgb) else (255, 255, 255)
    known = {r.id: r for r in job.region_map.regions}
    for region_id in asked:
        if region_id in known:
            rings = polygon_rings(known[region_id].polygon, middle, scale)
            sheet.shape(rings, stroke=rgb, stroke_mm=0.3)


def _contrast(rgb: RGB) -> bool:
    """Return whether the accent colour shows on a cloth."""
    return float(np.dot(rgb, (0.2126, 0.7152, 0.0722))) > 100.0


def _question_strip(question: Question, measure: float, metrics: FontMetrics) -> Strip:
    x, width = MARGIN_MM + 10.0, measure - 10.0
    choices = [c.label for c in question.choices]
    lines = len(wrap(question.text, width, BODY, metrics))
    answer_lines = [len(wrap(c, width - 6.0, BODY, metrics)) for c in choices]
    height = (lines + sum(answer_lines)) * BODY.lead_mm + 0.6 * len(choices) + 4.5

    def draw(sheet: Sheet, y: float) -> None:
        sheet.rule(MARGIN_MM, y, sheet.right_mm)
        draw_pin(sheet, MARGIN_MM + _MARK_MM, y - 4.6, question.letter, PIN_MM + 0.4)
        below = sheet.paragraph(x, y - 1.2, question.text, width)
        for choice in choices:
            below -= 0.6
            sheet.box(x, below - 3.7, (2.8, 2.8), None, INK)
            below = sheet.paragraph(x + 5.0, below, choice, width - 6.0)

    return Strip(height, draw)
