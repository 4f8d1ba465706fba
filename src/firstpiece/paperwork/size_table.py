"""Garment sizes side by side: each drawn with the design in its place, its pieces and distance.

In: a job with sizes. Out: rows of small drawings in which the design keeps its true share of the
garment, so that the eye sees how it sits on each.
"""

from __future__ import annotations

import math
import re
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.paperwork.flow import Strip, gap
from firstpiece.paperwork.form import in_unit, note_strips
from firstpiece.paperwork.garment_drawing import draw_garment, drawn_height_mm
from firstpiece.paperwork.sheet import CAPTION, STRONG, Face
from firstpiece.paperwork.size_placement import size_view

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.material import Garment
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.paper_details import SizeRow
    from firstpiece.paperwork.sheet import Sheet

_LABEL_MM = 5.5
_GARMENT_MM = 3.0
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
    n = 2 if len(rows) <= 6 else 3 if len(rows) <= 9 else 4
    n_rows = math.ceil(len(rows) / n)
    tallest = min(34.0, 0.72 * measure / n)
    height = min(tallest, max(14.0, room_mm / n_rows - _LABEL_MM - 1.5))
    strips = [
        _size_strip(job, rows[i : i + n], (left, measure / n), height)
        for i in range(0, len(rows), n)
    ]
    notes = [strip for text in _sentences(job) for strip in note_strips(text, box, job.metrics)]
    return [*strips, gap(1.0), *notes]


def _garment_of(job: PaperJob, row: SizeRow) -> Garment:
    return row.garment or job.setup.garment


def _sentences(job: PaperJob) -> list[str]:
    """Return where the design goes, once for all sizes of which the same can be said."""
    sizes: dict[str, dict[str, list[str]]] = {}
    for row in job.sizes:
        garment = _garment_of(job, row)
        said = _NUMBER.sub(_("the distance shown"), garment.placement, count=1)
        sizes.setdefault(said, {}).setdefault(garment.label, []).append(row.size)
    if len(sizes) == 1:
        return list(sizes)
    return [f"{_say_whose(job, whose)}: {in_unit(said, job.unit)}" for said, whose in sizes.items()]


def _say_whose(job: PaperJob, whose: dict[str, list[str]]) -> str:
    """Return the garments and sizes that a sentence is about."""
    if not _has_garments(job):
        return ", ".join(size for sizes in whose.values() for size in sizes)
    named = [", ".join(size for size in sizes if size) for sizes in whose.values()]
    return "; ".join(f"{label} {sizes}".strip() for label, sizes in zip(whose, named, strict=True))


def _has_garments(job: PaperJob) -> bool:
    """Return whether the job is sewn on more than one garment."""
    return len({_garment_of(job, row).label for row in job.sizes}) > 1


def _size_strip(
    job: PaperJob, rows: Sequence[SizeRow], column: tuple[float, float], height: float
) -> Strip:
    left, width = column
    views = [(_garment_of(job, row), size_view(_garment_of(job, row), row)) for row in rows]
    natural = [drawn_height_mm(width - 3.0, g, job.region_map, view) for g, view in views]
    height = min(height, max(natural))
    label_mm = _LABEL_MM + (_GARMENT_MM if _has_garments(job) else 0.0)

    def draw(sheet: Sheet, y: float) -> None:
        for i, (row, (garment, view)) in enumerate(zip(rows, views, strict=True)):
            x = left + i * width
            pieces = _("1 piece") if row.pieces == 1 else _("{n} pieces").format(n=row.pieces)
            face = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
            sheet.fit(x, y - 3.8, row.size or _("one size"), 0.55 * width, STRONG)
            sheet.fit(x + width - 4.0, y - 3.8, pieces, 0.4 * width, face)
            if _has_garments(job):
                sheet.fit(x, y - 6.8, garment.label, width - 4.0, CAPTION)
            box = (x, y - label_mm - height, width - 3.0, height)
            draw_garment(sheet, box, garment, job.region_map, unit=job.unit, seen=view)

    return Strip(height + label_mm + 1.5, draw)
