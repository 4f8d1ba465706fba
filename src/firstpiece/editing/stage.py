"""The editing stage: a person's edits carried out, one after the other, on the cleaned design.

Input: a ``RegionMap`` and an edit, or a log of them. Output: a new ``RegionMap``, still an exact
partition, and a sentence on what was done. Undo is replay of the log without its last edit.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import shapely

from firstpiece.editing.addressing import pinned
from firstpiece.editing.edges import redraw_edge, sharpen_corner, smooth_edge
from firstpiece.editing.layers import lay_area
from firstpiece.editing.means import Edited, EditMeans
from firstpiece.editing.pieces import close_gap, drop_area, merge_areas, split_area
from firstpiece.editing.straighten import straighten_letters
from firstpiece.editing.symmetry import make_even
from firstpiece.editing.texts import set_letters
from firstpiece.editing.threads import make_bare, make_thread, recolor_area, swap_thread
from firstpiece.editing.widths import add_ring, area_to_line, line_to_area, thicken_area
from firstpiece.errors import EditError
from firstpiece.model.edit import (
    AddRing,
    AreaRef,
    AreaToLine,
    CloseGap,
    DropArea,
    EditLog,
    LayArea,
    LineToArea,
    MakeBare,
    MakeEven,
    MakeThread,
    MergeAreas,
    RecolorArea,
    RedrawEdge,
    SetLetters,
    SharpenCorner,
    SmoothEdge,
    SplitArea,
    StraightenLetters,
    SwapThread,
    ThickenArea,
    scaled_edit,
)
from firstpiece.model.edit_code import edit_from, edit_object

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.edit import Edit
    from firstpiece.model.region import RegionMap

_NO_MEANS = EditMeans()

_WAYS: dict[type[Any], Callable[[RegionMap, Any, EditMeans], Edited]] = {
    AddRing: add_ring,
    AreaToLine: area_to_line,
    CloseGap: close_gap,
    DropArea: drop_area,
    LayArea: lay_area,
    LineToArea: line_to_area,
    MakeBare: make_bare,
    MakeEven: make_even,
    MakeThread: make_thread,
    MergeAreas: merge_areas,
    RecolorArea: recolor_area,
    RedrawEdge: redraw_edge,
    SetLetters: set_letters,
    SharpenCorner: sharpen_corner,
    SmoothEdge: smooth_edge,
    SplitArea: split_area,
    StraightenLetters: straighten_letters,
    SwapThread: swap_thread,
    ThickenArea: thicken_area,
}


@dataclass(frozen=True, slots=True, eq=False)
class Replayed:
    """A design after a whole log.

    Parameters
    ----------
    region_map : RegionMap
    sentences : tuple of str
        What each edit did, or why it could not be done.
    failed : tuple of (int, EditError)
        Which edits could not be done, by their place in the log, and why.
    next_id : int
        Lowest number a further new area may take.
    """

    region_map: RegionMap
    sentences: tuple[str, ...]
    failed: tuple[tuple[int, EditError], ...]
    next_id: int


def apply_edit(region_map: RegionMap, edit: Edit, *, means: EditMeans = _NO_MEANS) -> RegionMap:
    """Return the design after one edit; see ``carry_out``."""
    return carry_out(region_map, edit, means=means).region_map


def carry_out(region_map: RegionMap, edit: Edit, *, means: EditMeans = _NO_MEANS) -> Edited:
    """Return the design after one edit, and a sentence on what was done.

    Parameters
    ----------
    region_map : RegionMap
    edit : Edit
    means : EditMeans
        Threads on the rack, fonts at hand, and the lowest number for new areas.

    Returns
    -------
    Edited
        Its areas are an exact partition on a grid of 0.0001 mm, centred on the painted box. Areas
        that the edit did not touch keep their numbers.

    Raises
    ------
    EditError
        When the edit makes no sense here; the design is left as it was.
    """
    # Edits made in Python pass the same checks as those read from JSON.
    checked = edit_from(edit_object(edit))
    try:
        edited = _WAYS[type(checked)](region_map, checked, means)
    except shapely.GEOSException as fault:
        raise EditError(
            _("the outlines there cannot be cut this way"),
            remedy=_("try a slightly different place or width"),
        ) from fault
    if not edited.region_map.sewn_regions:
        raise EditError(
            _("nothing would be left to sew"), remedy=_("leave at least one area in thread")
        )
    return edited


def replay_edits(
    region_map: RegionMap, log: EditLog, *, means: EditMeans = _NO_MEANS, strict: bool = True
) -> Replayed:
    """Return the traced design after every edit of a log.

    Parameters
    ----------
    region_map : RegionMap
        As traced; at another height than the log's, the edits' places grow with it.
    log : EditLog
    means : EditMeans
    strict : bool
        True raises when an edit cannot be done; False passes it over and tells.

    Raises
    ------
    EditError
        ``where`` names the edit.
    """
    factor = region_map.height_mm / log.height_mm if log.height_mm > 0 else 1.0
    next_id = means.first_new(region_map)
    sentences: list[str] = []
    failed: list[tuple[int, EditError]] = []
    for place, edit in enumerate(log.edits):
        fitted = edit if factor == 1.0 else scaled_edit(edit, factor)
        try:
            edited = carry_out(region_map, fitted, means=replace(means, next_id=next_id))
        except EditError as fault:
            if strict:
                fault.where = fault.where or _("edit {n}").format(n=place + 1)
                raise
            failed.append((place, fault))
            sentences.append(str(fault))
            continue
        region_map = edited.region_map
        next_id = max(next_id, means.first_new(region_map))
        sentences.append(edited.sentence)
    return Replayed(region_map, tuple(sentences), tuple(failed), next_id)


def pin_edit(region_map: RegionMap, edit: Edit) -> Edit:
    """Return an edit whose areas are told by number and place, so that it outlives a new trace.

    Raises
    ------
    EditError
        When an area does not exist.
    """
    changes: dict[str, Any] = {}
    for f in fields(edit):
        part = getattr(edit, f.name)
        if isinstance(part, AreaRef):
            changes[f.name] = pinned(region_map, part)
        elif isinstance(part, tuple) and part and isinstance(part[0], AreaRef):
            changes[f.name] = tuple(pinned(region_map, ref) for ref in part)
    made: Edit = replace(edit, **changes)
    return made
