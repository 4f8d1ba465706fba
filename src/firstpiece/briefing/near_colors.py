"""Colours of the picture that lie close together, to be one thread or two.

Two cases: two threads that hardly differ (one would save a thread change), and two colours of the
picture that the rack can only give one thread. Input: the cleaned design. Output: draft questions.
"""

from __future__ import annotations

from gettext import gettext as _
from itertools import combinations
from typing import TYPE_CHECKING

from firstpiece.briefing.color_difference import color_difference
from firstpiece.briefing.draft import Draft, point_inside
from firstpiece.model.question import Choice

if TYPE_CHECKING:
    from firstpiece.model.region import Region, RegionMap

CODE = "near-colors"
# Below this two threads side by side read as one at arm's length (own choice).
NEAR_THREADS_DELTA_E = 10.0
# Above this two colours of the picture were meant to differ (own choice).
MEANT_TO_DIFFER_DELTA_E = 5.0


def near_color_drafts(region_map: RegionMap) -> tuple[Draft, ...]:
    """Return the questions about pairs of near colours, nearest first."""
    areas = _largest_areas(region_map)
    drafts: list[tuple[float, Draft]] = []
    for one, other in combinations(sorted(areas), 2):
        pair = (areas[one], areas[other])
        match, other_match = region_map.matches[one], region_map.matches[other]
        threads_apart = color_difference(match.thread.rgb, other_match.thread.rgb)
        art_apart = color_difference(match.art_rgb, other_match.art_rgb)
        if match.thread == other_match.thread:
            if art_apart >= MEANT_TO_DIFFER_DELTA_E:
                drafts.append((threads_apart, _same_thread(pair, region_map)))
        elif threads_apart <= NEAR_THREADS_DELTA_E:
            drafts.append((threads_apart, _near_threads(pair, region_map)))
    return tuple(draft for _apart, draft in sorted(drafts, key=lambda entry: entry[0]))


def _largest_areas(region_map: RegionMap) -> dict[int, Region]:
    """Return the largest sewn area of each colour in use, by colour index."""
    largest: dict[int, Region] = {}
    for region in region_map.sewn_regions:
        best = largest.get(region.color_index)
        if best is None or region.polygon.area > best.polygon.area:
            largest[region.color_index] = region
    return largest


def _near_threads(pair: tuple[Region, Region], region_map: RegionMap) -> Draft:
    one, other = (region_map.thread_of(region).name for region in pair)
    return Draft(
        code=CODE,
        text=_("{one} and {other} are close: two threads, or one for both?").format(
            one=one.capitalize(), other=other
        ),
        region_ids=tuple(region.id for region in pair),
        where_mm=point_inside(pair[0]),
        choices=(
            Choice(_("keep two threads"), "keep"),
            Choice(_("use {one} for both").format(one=one), "merge", one),
            Choice(_("use {other} for both").format(other=other), "merge", other),
        ),
    )


def _same_thread(pair: tuple[Region, Region], region_map: RegionMap) -> Draft:
    thread = region_map.thread_of(pair[0]).name
    return Draft(
        code=CODE,
        text=_(
            "Two colours of the picture both come nearest to our {thread}:"
            " may they be one, or shall we look for a second thread?"
        ).format(thread=thread),
        region_ids=tuple(region.id for region in pair),
        where_mm=point_inside(pair[1]),
        choices=(
            Choice(_("sew both in {thread}").format(thread=thread), "merge", thread),
            Choice(_("find a second thread"), "keep"),
        ),
    )
