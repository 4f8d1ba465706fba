"""Which areas are thread and which are the cloth itself? The question most often left unsaid.

A picture on white paper does not tell white thread from "nothing here", and an area as dark as a
dark garment may be the garment. Input: the cleaned design and the set-up. Output: draft questions.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.briefing.color_difference import color_difference, lightness_and_chroma
from firstpiece.briefing.draft import (
    Draft,
    place_words,
    point_inside,
    size_words,
    split_off_rest,
)
from firstpiece.model.question import Choice

if TYPE_CHECKING:
    from firstpiece.model.material import RGB, Setup
    from firstpiece.model.region import Region, RegionMap

CODE = "bare-or-thread"
# Office paper photographed or scanned is at least this light and this grey (own choice).
PAPER_LIGHTNESS = 93.0
PAPER_CHROMA = 6.0
# A colour difference that most people see only side by side (own choice).
NEAR_GARMENT_DELTA_E = 6.0
SMALLEST_MM2 = 1.0


def bare_area_drafts(region_map: RegionMap, *, setup: Setup) -> tuple[Draft, ...]:
    """Return the questions about areas that could be thread or bare cloth, largest first."""
    open_areas: dict[str, list[Region]] = {"bare": [], "garment": [], "paper": []}
    for region in region_map.regions:
        kind = _kind(region, region_map, setup.garment.rgb)
        if kind and region.polygon.area >= SMALLEST_MM2:
            open_areas[kind].append(region)
    drafts = []
    for kind, areas in open_areas.items():
        areas.sort(key=lambda r: (-r.polygon.area, r.id))
        drafts += [_draft(kind, group, region_map, setup) for group in split_off_rest(areas)]
    return tuple(drafts)


def _kind(region: Region, region_map: RegionMap, garment: RGB) -> str:
    """Return why an area is open: ``bare``, ``garment``, ``paper`` or empty."""
    if region.is_bare:
        return "bare"
    match = region_map.matches[region.color_index]
    if color_difference(match.thread.rgb, garment) <= NEAR_GARMENT_DELTA_E:
        return "garment"
    lightness, chroma = lightness_and_chroma(match.art_rgb)
    return "paper" if lightness >= PAPER_LIGHTNESS and chroma <= PAPER_CHROMA else ""


def _draft(kind: str, areas: tuple[Region, ...], region_map: RegionMap, setup: Setup) -> Draft:
    first = areas[0]
    thread_name = "" if first.is_bare else region_map.thread_of(first).name
    facts = {
        "size": size_words(first),
        "place": place_words(point_inside(first), region_map),
        "n": len(areas),
        "color": setup.garment.color_name,
        "thread": thread_name,
    }
    text = _ONE[kind]() if len(areas) == 1 else _MANY[kind]()
    bare = Choice(_("leave the cloth showing"), "bare")
    thread = Choice(_("sew it in {thread}").format(**facts), "thread", thread_name)
    if first.is_bare:
        thread = Choice(_("sew it in white"), "thread", None)
    return Draft(
        code=CODE,
        text=text.format(**facts),
        region_ids=tuple(r.id for r in areas),
        where_mm=point_inside(first),
        choices=(bare, thread) if first.is_bare else (thread, bare),
    )


# Functions, so that the words are translated when they are used and not when they are loaded.
_ONE = {
    "paper": lambda: _(
        "The white area {place} ({size}): white thread, or the bare cloth of the garment?"
    ),
    "garment": lambda: _(
        "The area {place} ({size}) is almost the garment's own {color}:"
        " sewn in {thread}, or left as cloth?"
    ),
    "bare": lambda: _("The open area {place} ({size}): bare cloth, or filled with white thread?"),
}
_MANY = {
    "paper": lambda: _(
        "{n} smaller white areas, the largest {place} ({size}): white thread, or bare cloth?"
    ),
    "garment": lambda: _(
        "{n} smaller areas almost the garment's own {color}, the largest {place} ({size}):"
        " sewn in {thread}, or left as cloth?"
    ),
    "bare": lambda: _(
        "{n} smaller open areas, the largest {place} ({size}): bare cloth, or white thread?"
    ),
}
