"""Which area an edit means: by its number, or by a point that lies in it.

Input: a design and an ``AreaRef``. Output: the area, or one sentence on why there is none.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import shapely

from firstpiece.errors import EditError
from firstpiece.model.edit import AreaRef

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.region import Region, RegionMap


def find_area(region_map: RegionMap, ref: AreaRef) -> Region:
    """Return the area that is meant; where areas meet, the one with the number told.

    Raises
    ------
    EditError
        When no area has the number, or none lies at the place.
    """
    if ref.at_mm is not None:
        point = shapely.Point(ref.at_mm)
        there = [r for r in region_map.regions if r.polygon.intersects(point)]
        for region in there:
            if region.id == ref.number:
                return region
        if there:
            return there[0]
        raise EditError(
            _("there is no area at {x:.1f}, {y:.1f} mm").format(x=ref.at_mm[0], y=ref.at_mm[1]),
            remedy=_("choose a place inside an area, in mm from the middle of the design"),
        )
    for region in region_map.regions:
        if region.id == ref.number:
            return region
    if ref.number is None:
        raise EditError(_("no area is named"), remedy=_("give its number or a place inside it"))
    raise EditError(
        _("there is no area {number}").format(number=ref.number),
        remedy=_("the areas are {numbers}").format(numbers=_numbers(region_map)),
    )


def find_areas(region_map: RegionMap, refs: Sequence[AreaRef]) -> tuple[Region, ...]:
    """Return the areas that are meant, each once, in the order in which they were named."""
    found = {find_area(region_map, ref).id: ref for ref in refs}
    return tuple(region_map.region(number) for number in found)


def find_sewn(region_map: RegionMap, ref: AreaRef) -> Region:
    """Return the area that is meant; EditError when it is bare cloth."""
    region = find_area(region_map, ref)
    if region.is_bare:
        raise EditError(
            _("area {number} is bare cloth").format(number=region.id),
            remedy=_("make it thread first, or name an area that is sewn"),
        )
    return region


def pinned(region_map: RegionMap, ref: AreaRef) -> AreaRef:
    """Return a reference that says number and place, to be found again after a new trace."""
    region = find_area(region_map, ref)
    if ref.at_mm is not None:
        return AreaRef(region.id, ref.at_mm)
    point = region.polygon.point_on_surface()
    return AreaRef(region.id, (round(float(point.x), 3), round(float(point.y), 3)))


def area_words(region_map: RegionMap, region: Region) -> str:
    """Return how a sentence calls an area: its number and thread."""
    thread = _("bare") if region.is_bare else region_map.thread_of(region).name
    return _("area {number} ({thread})").format(number=region.id, thread=thread)


def _numbers(region_map: RegionMap) -> str:
    """Return the numbers of all areas, runs of them shortened."""
    runs: list[list[int]] = []
    for number in sorted(region.id for region in region_map.regions):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    words = [str(a) if a == b else f"{a}–{b}" for a, b in runs]
    return ", ".join(words[:12]) + ("…" if len(words) > 12 else "")
