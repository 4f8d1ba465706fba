"""A person's changes to the cleaned design: areas left bare, areas sewn in another thread.

Input: the design as traced and the changes. Output: a design with the same areas and ids.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.frozen import content_hash
from firstpiece.model.region import BARE, ColorMatch
from firstpiece.shop.lookup import Kept

if TYPE_CHECKING:
    from firstpiece.model.material import ThreadColor
    from firstpiece.model.region import RegionMap


@dataclass(frozen=True, slots=True)
class AreaEdits:
    """Areas to leave bare, by id, and areas to sew in a thread of the rack, by id and its name.

    ``merged`` names threads and the thread that replaces each everywhere.
    """

    left_bare: tuple[int, ...] = ()
    threads: tuple[tuple[int, str], ...] = ()
    merged: tuple[tuple[str, str], ...] = ()


NO_EDITS = AreaEdits()


def edit_design(
    design: Kept[RegionMap], edits: AreaEdits, *, rack: tuple[ThreadColor, ...]
) -> Kept[RegionMap]:
    """Return the design with a person's changes, kept under a key of its own.

    Raises
    ------
    InputError
        When nothing would be left to sew, or a thread is not on the rack.
    """
    if edits == NO_EDITS:
        return design
    edited = edit_areas(design.value, edits, rack=rack)
    return Kept(content_hash("area edits", design.key, edits, rack), edited)


def edit_areas(
    region_map: RegionMap, edits: AreaEdits, *, rack: tuple[ThreadColor, ...]
) -> RegionMap:
    """Return the design with areas left bare or sewn in another thread.

    Parameters
    ----------
    region_map : RegionMap
    edits : AreaEdits
        Ids the design does not have are passed over.
    rack : tuple of ThreadColor

    Raises
    ------
    InputError
    """
    by_name = {thread.name: thread for thread in rack}
    merged = dict(edits.merged)
    wanted = {
        region.id: merged[region_map.thread_of(region).name]
        for region in region_map.sewn_regions
        if region_map.thread_of(region).name in merged
    } | dict(edits.threads)
    matches = list(region_map.matches)
    place: dict[str, int] = {}
    regions = []
    for region in region_map.regions:
        if region.id in edits.left_bare:
            regions.append(replace(region, color_index=BARE))
        elif region.id in wanted and not region.is_bare:
            name = wanted[region.id]
            if name not in place:
                matches.append(_match(region_map, region.color_index, by_name, name))
                place[name] = len(matches) - 1
            regions.append(replace(region, color_index=place[name]))
        else:
            regions.append(region)
    if all(region.is_bare for region in regions):
        raise InputError(
            _("nothing would be left to sew"), remedy=_("leave at least one area in thread")
        )
    return replace(region_map, regions=tuple(regions), matches=tuple(matches))


def _match(
    region_map: RegionMap, color_index: int, by_name: dict[str, ThreadColor], name: str
) -> ColorMatch:
    if name not in by_name:
        raise InputError(
            _("there is no thread “{name}” on the rack").format(name=name),
            remedy=_("see the thread card for its colours"),
        )
    # A person chose it, so it is no longer held against the art's colour.
    old = region_map.matches[color_index]
    return ColorMatch(old.art_rgb, by_name[name], old.delta_e)
