"""What an edit needs besides the design, and what it hands back.

Input: the threads on the rack and the fonts at hand. Output of an edit: the design and a sentence.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from gettext import gettext as _
from types import MappingProxyType
from typing import TYPE_CHECKING

from firstpiece.errors import EditError
from firstpiece.model.region import ColorMatch

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.material import ThreadColor
    from firstpiece.model.region import RegionMap


@dataclass(frozen=True, slots=True, eq=False)
class EditMeans:
    """What is at hand.

    Parameters
    ----------
    rack : tuple of ThreadColor
        Threads to choose from, besides those the design already uses.
    fonts : mapping of str to bytes
        Font files by the name edits call them.
    next_id : int
        Lowest number a new area may take; numbers once used are not used again.
    """

    rack: tuple[ThreadColor, ...] = ()
    fonts: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}))
    next_id: int = 0

    def first_new(self, region_map: RegionMap) -> int:
        """Return the number of the next new area."""
        return max((self.next_id, *(region.id + 1 for region in region_map.regions)))


@dataclass(frozen=True, slots=True, eq=False)
class Edited:
    """A design after an edit, and one sentence on what was done.

    ``moved_mm`` is how far the furthest point of an edge moved, for edits that move edges.
    """

    region_map: RegionMap
    sentence: str
    moved_mm: float | None = None


def with_thread(
    region_map: RegionMap, name: str, *, means: EditMeans, like: int | None = None
) -> tuple[RegionMap, int]:
    """Return the design with a thread among its colours, and that colour's index.

    Parameters
    ----------
    region_map : RegionMap
    name : str
        As on the rack.
    means : EditMeans
    like : int or None
        Colour whose art the thread is chosen for: the art's colour is kept for the record.

    Raises
    ------
    EditError
        When the thread is neither on the rack nor in the design.
    """
    for index, match in enumerate(region_map.matches):
        if match.thread.name == name and like is None:
            return region_map, index
    threads = {match.thread.name: match.thread for match in region_map.matches}
    threads |= {thread.name: thread for thread in means.rack}
    if name not in threads:
        raise EditError(
            _("there is no thread “{name}” on the rack").format(name=name[:60]),
            remedy=_("see the thread card for its colours"),
        )
    # A person chose it, so the difference to the art's colour is told and no longer judged.
    old = None if like is None else region_map.matches[like]
    chosen = threads[name]
    match = ColorMatch(old.art_rgb if old else chosen.rgb, chosen, old.delta_e if old else 0.0)
    if match in region_map.matches:
        return region_map, region_map.matches.index(match)
    matches = (*region_map.matches, match)
    return replace(region_map, matches=matches), len(matches) - 1
