"""Tables of threads: the customer's (match to the art) and the machine's (order, minutes).

In: a job, a left edge and a width. Out: strips to be set one below the other.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import INK
from firstpiece.paperwork.flow import Strip
from firstpiece.paperwork.needle_drawing import needle_of
from firstpiece.paperwork.sewing_order import color_blocks
from firstpiece.paperwork.sheet import BODY, CAPTION, RULE, SMALL, Face

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.material import RGB
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.region import ColorMatch
    from firstpiece.paperwork.sheet import Sheet

ROW_MM = 6.2
_RIGHT = Face(BODY.size_pt, align="right")


def say_difference(delta_e: float) -> str:
    """Return what a CIEDE2000 difference means to the eye.

    Steps of 1, 2 and 5 are common practice, no source: about 1 is just seen side by side.
    """
    if delta_e < 1.0:
        return _("no difference to the eye")
    if delta_e < 2.0:
        return _("seen only side by side")
    if delta_e < 5.0:
        return _("close")
    return _("clearly different")


def used_matches(job: PaperJob) -> tuple[ColorMatch, ...]:
    """Return the matches of colours that are sewn, in the order of the plan's threads."""
    used = {r.color_index for r in job.region_map.sewn_regions}
    order = {thread.name: i for i, thread in enumerate(job.plan.threads)}
    chosen = [job.region_map.matches[i] for i in sorted(used)]
    return tuple(sorted(chosen, key=lambda m: order.get(m.thread.name, len(order))))


def match_strips(job: PaperJob, left: float, width: float) -> list[Strip]:
    """Return the customer's table: art colour beside thread colour, name, difference, tex."""
    columns = (left + 15.0, left + 0.54 * width, left + width)
    tex = _("{tex:.1f} tex")

    def head(sheet: Sheet, y: float) -> None:
        sheet.text(left, y - 3.4, _("art | thread"), CAPTION)
        sheet.text(columns[0], y - 3.4, _("thread"), CAPTION)
        sheet.text(columns[1], y - 3.4, _("difference to the art, ΔE00"), CAPTION)
        sheet.text(columns[2], y - 3.4, _("weight"), Face(CAPTION.size_pt, rgb=CAPTION.rgb,
            align="right"))  # fmt: skip
        sheet.rule(left, y - 4.8, left + width)

    def row(match: ColorMatch) -> Strip:
        def draw(sheet: Sheet, y: float) -> None:
            _swatch(sheet, left, y, match.art_rgb)
            _swatch(sheet, left + 6.0, y, match.thread.rgb)
            name_room = columns[1] - columns[0] - 3
            sheet.fit(columns[0], y - 4.2, match.thread.name, name_room)
            said = f"{match.delta_e:.1f}  {say_difference(match.delta_e)}"
            sheet.fit(columns[1], y - 4.2, said, columns[2] - columns[1] - 15, SMALL)
            sheet.text(columns[2], y - 4.2, tex.format(tex=match.thread.tex), _RIGHT)
            sheet.rule(left, y - ROW_MM, left + width)

        return Strip(ROW_MM, draw)

    label = job.setup.thread.label
    kind = Strip(5.0, lambda sheet, y: sheet.fit(left, y - 3.6, label, width, CAPTION))
    return [Strip(4.8, head, leads=True), *(row(m) for m in used_matches(job)), kind]


def order_strips(
    job: PaperJob, left: float, width: float, *, row_mm: float = ROW_MM
) -> list[Strip]:
    """Return the machine's table: needle, cone order, stitches, trims, minutes, metres, stops."""
    blocks = color_blocks(job.plan, job.forecast, job.setup.machine)
    use = {u.thread_index: u.top_m.band.p50 for u in job.forecast.thread_use}
    ends = [left + width * share for share in (0.64, 0.75, 0.88, 1.0)]
    quiet = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
    size = min(BODY.size_pt, BODY.size_pt * row_mm / 5.6)
    plain, right = Face(size), Face(size, align="right")
    base = row_mm * 0.68

    def head(sheet: Sheet, y: float) -> None:
        sheet.text(left, y - 3.4, _("order, needle, thread"), CAPTION)
        labels = (_("stitches"), _("trims"), _("minutes"), _("metres"))
        for x, label in zip(ends, labels, strict=True):
            sheet.text(x, y - 3.4, label, quiet)
        sheet.rule(left, y - 4.8, left + width)

    def row(number: int) -> Strip:
        block = blocks[number]
        thread = job.plan.threads[block.thread_index]
        needle = needle_of(job, block.thread_index)
        # The metres of a thread that is sewn twice stand beside its first turn.
        first = all(b.thread_index != block.thread_index for b in blocks[:number])
        metres = use.get(block.thread_index) if first else None
        values = (
            f"{block.n_stitches:,}".replace(",", "\u202f"),
            str(block.n_trims),
            f"{block.minutes:.1f}",
            "" if metres is None else f"{metres:.1f}",
        )

        def draw(sheet: Sheet, y: float) -> None:
            sheet.text(left + 4.0, y - base, str(number + 1), right)
            said = "–" if needle is None else str(needle)
            sheet.text(left + 10.0, y - base, said, Face(size, "bold", align="right"))
            sheet.box(left + 12.0, y - 0.82 * row_mm, (6.0, 0.62 * row_mm), thread.rgb, RULE)
            sheet.fit(left + 19.5, y - base, thread.name, 0.64 * width - 31.0, plain)
            for x, value in zip(ends, values, strict=True):
                sheet.text(x, y - base, value, right)
            sheet.rule(left, y - row_mm, left + width)

        return Strip(row_mm, draw)

    return [Strip(4.8, head, leads=True), *(row(i) for i in range(len(blocks)))]


def _swatch(sheet: Sheet, x: float, y: float, rgb: RGB, ink: RGB = RULE) -> None:
    """Draw a small field of colour on a table row whose top is y."""
    sheet.box(x, y - 5.0, (6.0, 3.8), rgb, ink)


def swatch_row(sheet: Sheet, x: float, y: float, colors: Sequence[RGB]) -> None:
    """Draw a row of small fields side by side."""
    for i, rgb in enumerate(colors):
        _swatch(sheet, x + 6.0 * i, y, rgb, INK)
