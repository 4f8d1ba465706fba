"""Garment sizes side by side: each drawn with the design in its place, its pieces and distance.

In: a job with sizes. Out: rows of small drawings in which the design keeps its true share of the
garment, so that the eye sees how it sits on each.
"""

from __future__ import annotations

import math
import re
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.flow import Strip
from firstpiece.paperwork.form import note_strips
from firstpiece.paperwork.garment_drawing import draw_garment
from firstpiece.paperwork.sheet import CAPTION, STRONG, Face
from firstpiece.paperwork.size_placement import size_view

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.paper import PaperJob
    from firstpiece.model.paper_details import SizeRow
    from firstpiece.paperwork.sheet import Sheet

_LABEL_MM = 5.5
_NUMBER = re.compile(r"\d+(?:\.\d+)? mm")


def size_strips(job: PaperJob, box: tuple[float, float], room_mm: float) -> list[Strip]:
    """Return the drawings and the placement sentence under them.

    Parameters
    ----------
    job : PaperJob
        With sizes.
    box : tuple of float [mm]
        Left edge and width.
    room_mm : float [mm]
        Height for all drawings together; each gets its share.
    """
    left, measure = box
    rows = job.sizes
    n = 2 if len(rows) <= 4 else 3 if len(rows) <= 9 else 4
    n_rows = math.ceil(len(rows) / n)
    tallest = min(34.0, 0.72 * measure / n)
    height = min(tallest, max(14.0, room_mm / n_rows - _LABEL_MM - 1.5))
    strips = [
        _size_strip(job, rows[i : i + n], (left, measure / n), height)
        for i in range(0, len(rows), n)
    ]
    sentence = _NUMBER.sub(_("the distance shown"), job.setup.garment.placement)
    return [*strips, *note_strips(sentence, box, job.metrics)]


def _size_strip(
    job: PaperJob, rows: Sequence[SizeRow], column: tuple[float, float], height: float
) -> Strip:
    left, width = column

    def draw(sheet: Sheet, y: float) -> None:
        for i, row in enumerate(rows):
            x = left + i * width
            sheet.fit(x, y - 3.8, row.size, 0.4 * width, STRONG)
            pieces = _("1 piece") if row.pieces == 1 else _("{n} pieces").format(n=row.pieces)
            face = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
            sheet.fit(x + width - 4.0, y - 3.8, pieces, 0.55 * width, face)
            box = (x, y - _LABEL_MM - height, width - 3.0, height)
            view = size_view(job.setup.garment, row)
            draw_garment(sheet, box, job.setup.garment, job.region_map, unit=job.unit, seen=view)

    return Strip(height + _LABEL_MM + 1.5, draw)
