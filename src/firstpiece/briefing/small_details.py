"""Details narrower than one thread lies, and the height of the design at which they can be sewn.

Input: the cleaned design and the set-up. Output: draft questions, narrowest first.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.briefing.draft import Draft, place_words, split_off_rest
from firstpiece.geometry.narrow_part import find_narrow_part
from firstpiece.model.hooping import outline_corners, smallest_hoop
from firstpiece.model.question import Choice

if TYPE_CHECKING:
    from firstpiece.geometry.narrow_part import NarrowPart
    from firstpiece.model.material import Setup
    from firstpiece.model.region import Region, RegionMap

CODE = "too-small"


def small_detail_drafts(region_map: RegionMap, *, setup: Setup) -> tuple[Draft, ...]:
    """Return the questions about areas with parts narrower than the thread, narrowest first."""
    limit = setup.thread.laid_width_mm
    parts: dict[int, NarrowPart] = {}
    for region in region_map.sewn_regions:
        part = find_narrow_part(region.polygon, limit_mm=limit)
        if part is not None:
            parts[region.id] = part
    areas = sorted(
        (r for r in region_map.sewn_regions if r.id in parts),
        key=lambda r: (parts[r.id].width_mm, r.id),
    )
    return tuple(_draft(g, parts[g[0].id], setup, region_map) for g in split_off_rest(areas))


def _draft(
    areas: tuple[Region, ...], narrowest: NarrowPart, setup: Setup, region_map: RegionMap
) -> Draft:
    limit = setup.thread.laid_width_mm
    # Every width grows in proportion to the height; rounded up to a whole millimetre.
    height = math.ceil(region_map.height_mm * limit / narrowest.width_mm - 1e-9)
    drawn = [r.polygon.exterior.coords for r in region_map.sewn_regions]
    outline = outline_corners(np.concatenate([np.asarray(ring)[:, :2] for ring in drawn]))
    has_hoop = smallest_hoop(outline * height / region_map.height_mm, setup.hoops) is not None
    sentences = (
        _("The {thread} detail {place} is {width} mm wide; one thread is {limit} mm.")
        if len(areas) == 1
        else _(
            "{n} more details are narrower than one thread ({limit} mm); the finest, {place}, is"
            " {width} mm wide."
        ),
        _("It can be sewn as drawn from a height of {height} mm.")
        if has_hoop
        else _("It would need a design {height} mm high, more than the hoops for this garment."),
    )
    return Draft(
        code=CODE,
        text=" ".join(sentences).format(
            n=len(areas),
            thread=region_map.thread_of(areas[0]).name,
            place=place_words(narrowest.where_mm, region_map),
            width=f"{narrowest.width_mm:.2f}",
            limit=f"{limit:.2f}",
            height=height,
        ),
        region_ids=tuple(r.id for r in areas),
        where_mm=narrowest.where_mm,
        choices=_choices(height if has_hoop else None),
        sewable_height_mm=float(height),
    )


def _choices(height: int | None) -> tuple[Choice, ...]:
    """Return the answers; without a hoop for it a larger design is none."""
    answers = (
        Choice(_("sew it one thread wide, a little bolder than drawn"), "thicken"),
        Choice(_("leave it out"), "drop"),
    )
    if height is None:
        return answers
    larger = Choice(_("make the design {height} mm high").format(height=height), "height", height)
    return (*answers, larger)
