"""Areas sewn in other threads, or left bare; no outline moves.

Input: a design and one of these edits. Output: ``Edited``.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.editing.addressing import area_words, find_area, find_sewn
from firstpiece.editing.means import Edited, with_thread
from firstpiece.editing.patchwork import centred
from firstpiece.errors import EditError
from firstpiece.model.region import BARE

if TYPE_CHECKING:
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import MakeBare, MakeThread, RecolorArea, SwapThread
    from firstpiece.model.region import RegionMap


def recolor_area(region_map: RegionMap, edit: RecolorArea, means: EditMeans) -> Edited:
    """Return the design with an area in another thread."""
    region = find_sewn(region_map, edit.area)
    made, index = with_thread(region_map, edit.thread, means=means, like=region.color_index)
    sentence = _("Area {number} is sewn in {thread} instead of {old}.").format(
        number=region.id, thread=edit.thread, old=region_map.thread_of(region).name
    )
    return Edited(_painted(made, {region.id: index}), sentence)


def swap_thread(region_map: RegionMap, edit: SwapThread, means: EditMeans) -> Edited:
    """Return the design with everything of one thread in another."""
    areas = [r for r in region_map.sewn_regions if region_map.thread_of(r).name == edit.old]
    if not areas:
        names = sorted({region_map.thread_of(r).name for r in region_map.sewn_regions})
        raise EditError(
            _("nothing is sewn in “{thread}”").format(thread=edit.old[:60]),
            remedy=_("the design's threads are {names}").format(names=", ".join(names)),
        )
    made, colors = region_map, {}
    for region in areas:
        made, colors[region.id] = with_thread(
            made, edit.thread, means=means, like=region.color_index
        )
    sentence = _("{n} areas are sewn in {thread} instead of {old}.").format(
        n=len(areas), thread=edit.thread, old=edit.old
    )
    return Edited(_painted(made, colors), sentence)


def make_bare(region_map: RegionMap, edit: MakeBare, means: EditMeans) -> Edited:
    """Return the design with an area left bare cloth."""
    del means
    region = find_area(region_map, edit.area)
    if region.is_bare:
        raise EditError(
            _("area {number} is bare cloth already").format(number=region.id),
            remedy=_("name an area that is sewn"),
        )
    sentence = _("{area} is left bare cloth.").format(
        area=area_words(region_map, region).capitalize()
    )
    return Edited(_painted(region_map, {region.id: BARE}), sentence)


def make_thread(region_map: RegionMap, edit: MakeThread, means: EditMeans) -> Edited:
    """Return the design with a bare area sewn."""
    region = find_area(region_map, edit.area)
    if not region.is_bare:
        raise EditError(
            _("area {number} is sewn already").format(number=region.id),
            remedy=_("recolour it instead"),
        )
    made, index = with_thread(region_map, edit.thread, means=means)
    sentence = _("Area {number} is sewn in {thread} instead of left bare.").format(
        number=region.id, thread=edit.thread
    )
    return Edited(_painted(made, {region.id: index}), sentence)


def _painted(region_map: RegionMap, colors: dict[int, int]) -> RegionMap:
    regions = tuple(
        replace(region, color_index=colors.get(region.id, region.color_index))
        for region in region_map.regions
    )
    return centred(replace(region_map, regions=regions))
