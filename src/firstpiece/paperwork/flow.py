"""Strips set one below the other, page after page, so that nothing runs off the sheet.

In: strips (a height and a way to draw it), a starting sheet and height. Out: the sheets. A strip
that must not stand alone at the foot of a page (a heading) takes the next one with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from firstpiece.paperwork.sheet import Sheet

FOOT_MM = 20.0


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of a page: its height [mm], how to draw it from its top, whether it leads on."""

    height_mm: float
    draw: Callable[[Sheet, float], None]
    leads: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where on which sheet the next strip goes."""

    sheet: Sheet
    y_mm: float


def gap(height_mm: float) -> Strip:
    """Return an empty strip."""
    return Strip(height_mm, _draw_nothing)


def _draw_nothing(_sheet: Sheet, _y: float) -> None:
    """Draw nothing."""


def flow_strips(
    strips: Sequence[Strip],
    place: Place,
    new_sheet: Callable[[], Place],
    *,
    foot_mm: float = FOOT_MM,
) -> tuple[list[Sheet], Place]:
    """Draw the strips from ``place`` down; ask for new sheets as needed.

    Parameters
    ----------
    strips : sequence of Strip
    place : Place
        The sheet to begin on and the y to begin at.
    new_sheet : callable
        Gives the place to go on at, on an empty sheet.
    foot_mm : float [mm]
        Height kept free at the foot.

    Returns
    -------
    sheets : list of Sheet
        The sheets begun after the first.
    place : Place
        Where the strips ended.
    """
    added: list[Sheet] = []
    sheet, y = place.sheet, place.y_mm
    for i, strip in enumerate(strips):
        if y - _needed_mm(strips, i) < foot_mm:
            start = new_sheet()
            sheet, y = start.sheet, start.y_mm
            added.append(sheet)
        strip.draw(sheet, y)
        y -= strip.height_mm
    return added, Place(sheet, y)


def _needed_mm(strips: Sequence[Strip], i: int) -> float:
    """Return the height of a strip with everything it leads to."""
    need = strips[i].height_mm
    while strips[i].leads and i + 1 < len(strips):
        i += 1
        need += strips[i].height_mm
    return need


def take_strips(strips: Sequence[Strip], room_mm: float) -> tuple[Sequence[Strip], Sequence[Strip]]:
    """Return the strips that fit into a height, and the rest."""
    used = 0.0
    for i, strip in enumerate(strips):
        used += strip.height_mm
        if used > room_mm:
            cut = i
            while cut and strips[cut - 1].leads:
                cut -= 1
            return strips[:cut], strips[cut:]
    return strips, ()
