"""The cleaned design to what is still unknown: lettered questions and the message that asks them.

Input: a ``RegionMap`` and the set-up it would be sewn on. Output: ``Questions``, first what is
thread at all, then colours, then what is too small.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstpiece.briefing.bare_areas import bare_area_drafts
from firstpiece.briefing.message import write_message
from firstpiece.briefing.near_colors import near_color_drafts
from firstpiece.briefing.small_details import small_detail_drafts
from firstpiece.model.question import Question, Questions

if TYPE_CHECKING:
    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap


def list_questions(region_map: RegionMap, *, setup: Setup) -> Questions:
    """Return what the picture leaves open at this size on this garment.

    Parameters
    ----------
    region_map : RegionMap
        The cleaned design at the height asked for.
    setup : Setup
        Gives the garment's colour and the width of a laid thread.

    Returns
    -------
    Questions
        Lettered A, B, … Z, AA, …; the first choice of each is what happens without an answer.
    """
    drafts = (
        *bare_area_drafts(region_map, setup=setup),
        *near_color_drafts(region_map),
        *small_detail_drafts(region_map, setup=setup),
    )
    items = tuple(
        Question(
            code=draft.code,
            letter=letters(index),
            text=draft.text,
            region_ids=draft.region_ids,
            where_mm=draft.where_mm,
            choices=draft.choices,
            sewable_height_mm=draft.sewable_height_mm,
        )
        for index, draft in enumerate(drafts)
    )
    return Questions(items, write_message(items, region_map=region_map))


def letters(index: int) -> str:
    """Return the letters of a position from 0: A to Z, then AA, AB and so on."""
    text = ""
    number = index + 1
    while number:
        number, digit = divmod(number - 1, 26)
        text = chr(ord("A") + digit) + text
    return text
