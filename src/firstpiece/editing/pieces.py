"""Areas merged, split, dropped, and gaps between them closed.

Input: a design and one of these edits. Output: ``Edited``.
"""

from __future__ import annotations

import math
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.addressing import area_words, find_area, find_areas, find_sewn
from firstpiece.editing.means import Edited
from firstpiece.editing.patchwork import NOTHING, assemble, cut_areas, give_away
from firstpiece.editing.reshape import reshape_area, share_out
from firstpiece.errors import EditError
from firstpiece.geometry.contours import Area, areas_of

if TYPE_CHECKING:
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import CloseGap, DropArea, MergeAreas, Point, SplitArea
    from firstpiece.model.region import Region, RegionMap

SMALLEST_PIECE_MM2 = 0.01
WIDEST_GAP_MM = 20.0
_REACH_MM = 0.002
"""A cut runs on by this beyond the edge, so that it surely meets it."""


def merge_areas(region_map: RegionMap, edit: MergeAreas, means: EditMeans) -> Edited:
    """Return the design with touching areas in one."""
    areas = find_areas(region_map, edit.areas)
    if len(areas) < 2:
        raise EditError(
            _("one area cannot be merged with itself"), remedy=_("name two areas that touch")
        )
    joined = shapely.get_parts(shapely.coverage_union_all([a.polygon for a in areas]))
    if len(joined) > 1:
        first, apart = areas[0], _apart(areas, joined)
        raise EditError(
            _("areas {first} and {other} do not touch").format(first=first.id, other=apart.id),
            remedy=_("close the gap between them first, or name the areas that lie between"),
        )
    patchwork = cut_areas(region_map.regions, ())
    owner = patchwork.owner.copy()
    owner[np.isin(owner, [a.id for a in areas])] = areas[0].id
    made = assemble(region_map, patchwork, owner, next_id=means.first_new(region_map))
    sentence = _("Areas {numbers} are one now, {area}.").format(
        numbers=", ".join(str(a.id) for a in areas), area=area_words(region_map, areas[0])
    )
    return Edited(made, sentence)


def _apart(areas: tuple[Region, ...], joined: object) -> Region:
    """Return the first area that lies in another piece than the first one."""
    home = next(p for p in joined if p.intersects(areas[0].polygon.point_on_surface()))  # type: ignore[attr-defined]
    return next(a for a in areas if not home.intersects(a.polygon.point_on_surface()))


def split_area(region_map: RegionMap, edit: SplitArea, means: EditMeans) -> Edited:
    """Return the design with an area cut in pieces along a line."""
    region = find_area(region_map, edit.area)
    line = shapely.intersection(
        _through(edit.line_mm, region.polygon), shapely.buffer(region.polygon, _REACH_MM)
    )
    patchwork = cut_areas(region_map.regions, [line])
    mine = patchwork.owner == region.id
    large = mine & (shapely.area(patchwork.faces) >= SMALLEST_PIECE_MM2)
    if np.count_nonzero(large) < 2:
        raise EditError(
            _("the line does not cut area {number} from edge to edge").format(number=region.id),
            remedy=_("draw it across the area"),
        )
    first = means.first_new(region_map)
    owner = give_away(patchwork, mine & ~large, frozenset())
    faces = np.flatnonzero(large)
    by_size = faces[np.argsort(-shapely.area(patchwork.faces[faces]), kind="stable")]
    added = {}
    for i, face in enumerate(by_size[1:].tolist()):
        owner[face] = first + i
        added[first + i] = region
    made = assemble(region_map, patchwork, owner, next_id=first + len(added), added=_plain(added))
    sentence = _("{area} is cut in {n}: {numbers}.").format(
        area=_capital(area_words(region_map, region)),
        n=len(added) + 1,
        numbers=", ".join(str(n) for n in (region.id, *added)),
    )
    return Edited(made, sentence)


def _plain(added: dict[int, Region]) -> dict[int, Region]:
    return {n: replace(region, id=n, letter=None) for n, region in added.items()}


def _through(points: tuple[Point, ...], polygon: shapely.Polygon) -> shapely.LineString:
    """Return the line, an end inside the area lengthened straight on until it is outside."""
    xy = [np.array(p, dtype=np.float64) for p in points]
    if len(xy) < 2 or all(np.array_equal(p, xy[0]) for p in xy):
        raise EditError(_("the line has no length"), remedy=_("give at least two different points"))
    far = 2.0 * math.hypot(*np.ptp(np.array(polygon.bounds).reshape(2, 2), axis=0))
    for end, inner in ((0, 1), (-1, -2)):
        step = xy[end] - xy[inner]
        length = math.hypot(*step)
        if length > 0 and polygon.intersects(shapely.Point(xy[end])):
            xy[end] = xy[end] + step / length * far
    return shapely.LineString(xy)


def drop_area(region_map: RegionMap, edit: DropArea, means: EditMeans) -> Edited:
    """Return the design without an area: neighbours take its place, or bare cloth."""
    region = find_area(region_map, edit.area)
    made, takers = share_out(region_map, region, next_id=means.first_new(region_map))
    what = _capital(area_words(region_map, region))
    there = [area_words(region_map, region_map.region(n)) for n in takers if n != NOTHING]
    if not there:
        return Edited(made, _("{area} is gone.").format(area=what))
    said = _("{area} is gone; {others} took its place.")
    return Edited(made, said.format(area=what, others=", ".join(there[:4])))


def close_gap(region_map: RegionMap, edit: CloseGap, means: EditMeans) -> Edited:
    """Return the design with the gaps beside an area closed by it."""
    region = find_sewn(region_map, edit.area)
    if not 0.0 < edit.width_mm <= WIDEST_GAP_MM:
        raise EditError(
            _("a gap of {mm:g} mm cannot be closed").format(mm=edit.width_mm),
            remedy=_("choose a width above 0 and up to {mm:g} mm").format(mm=WIDEST_GAP_MM),
        )
    if edit.other is None:
        others = [r for r in region_map.sewn_regions if r.id != region.id]
        closed = {NOTHING, *(r.id for r in region_map.regions if r.is_bare)}
    else:
        other = find_sewn(region_map, edit.other)
        others = [other]
        closed = {NOTHING, *(r.id for r in region_map.regions)} - {region.id, other.id}
    gap = _gap(region, others, edit.width_mm)
    takes = shapely.area(shapely.difference(gap, region.polygon))
    made = reshape_area(
        region_map,
        region,
        shapely.union(region.polygon, gap),
        next_id=means.first_new(region_map),
        may_take=frozenset(closed),
    )
    grown = made.region(region.id).polygon.area - region.polygon.area
    if takes < SMALLEST_PIECE_MM2 or grown < SMALLEST_PIECE_MM2:
        raise _no_gap(region, others, edit.width_mm)
    sentence = _("{area} closed a gap of {mm2:.1f} mm² beside it.").format(
        area=_capital(area_words(region_map, region)), mm2=grown
    )
    return Edited(made, sentence)


def _gap(region: Region, others: list[Region], width_mm: float) -> Area:
    """Return what lies between the area and others, or in its notches, up to the width."""
    reach = shapely.buffer(region.polygon, width_mm)
    near = [r.polygon for r in others if r.polygon.intersects(reach)]
    both = shapely.union_all([region.polygon, *near])
    half = 0.5 * width_mm * 1.0001
    closed = shapely.buffer(shapely.buffer(both, half, quad_segs=16), -half, quad_segs=16)
    fresh = shapely.get_parts(areas_of(shapely.difference(closed, both)))
    # A gap beside somebody else is not this area's to close.
    beside = [p for p in fresh if p.intersects(region.polygon) and p.area >= SMALLEST_PIECE_MM2]
    inside = [areas_of(shapely.intersection(p, reach)) for p in beside]
    return areas_of(shapely.union_all(inside))


def _no_gap(region: Region, others: list[Region], width_mm: float) -> EditError:
    apart = [shapely.distance(region.polygon, r.polygon) for r in others]
    wider = [d for d in apart if d > width_mm]
    what = _("there is no gap of up to {mm:g} mm beside area {number}").format(
        mm=width_mm, number=region.id
    )
    if wider:
        advice = _("the next area is {mm:.2f} mm away").format(mm=min(wider))
        return EditError(what, remedy=advice)
    return EditError(what, remedy=_("choose a wider gap, or another area"))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
