"""Areas made thicker or thinner, turned into lines and back, and rings laid round them.

Input: a design and one of these edits. Output: ``Edited``.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.addressing import area_words, find_areas, find_sewn
from firstpiece.editing.means import Edited, with_thread
from firstpiece.editing.patchwork import NOTHING, assemble, cut_areas
from firstpiece.editing.reshape import reshape_area
from firstpiece.errors import EditError
from firstpiece.geometry.contours import areas_of
from firstpiece.geometry.medial_axis import inscribed_widths, medial_axis
from firstpiece.model.region import CentreLine, Region

if TYPE_CHECKING:
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import AddRing, AreaToLine, LineToArea, ThickenArea
    from firstpiece.model.region import RegionMap

MOST_MM = 50.0
_MITRE = 2.0
"""Corners stay sharp up to this many widths and are cut off beyond."""


def thicken_area(region_map: RegionMap, edit: ThickenArea, means: EditMeans) -> Edited:
    """Return the design with an area wider or thinner by so much, half on each side."""
    region = find_sewn(region_map, edit.area)
    if abs(edit.by_mm) > MOST_MM:
        raise EditError(
            _("an area cannot be thickened by {mm:g} mm").format(mm=edit.by_mm),
            remedy=_("choose at most {mm:g} mm").format(mm=MOST_MM),
        )
    words = area_words(region_map, region)
    if edit.by_mm == 0.0:
        return Edited(region_map, _("Nothing changed: {area} keeps its width.").format(area=words))
    shape = shapely.buffer(region.polygon, 0.5 * edit.by_mm, join_style="mitre", mitre_limit=_MITRE)
    if shape.is_empty:
        widest = inscribed_widths(region.polygon).max_mm
        raise EditError(
            _("area {number} is {widest:.2f} mm wide at most, so nothing would be left").format(
                number=region.id, widest=widest
            ),
            remedy=_("thin it by less, or drop it"),
        )
    made = reshape_area(
        region_map,
        region,
        shape,
        next_id=means.first_new(region_map),
        rim_mm=max(0.0, -0.5 * edit.by_mm),
    )
    said = _("{area} is {mm:.2f} mm thicker.")
    if edit.by_mm < 0:
        said = _("{area} is {mm:.2f} mm thinner.")
    sentence = said.format(area=_capital(words), mm=abs(edit.by_mm))
    return Edited(made, sentence + _what_else(region_map, made), 0.5 * abs(edit.by_mm))


def _what_else(before: RegionMap, after: RegionMap) -> str:
    """Return a further sentence when areas were swallowed or fell in pieces."""
    numbers = {r.id for r in after.regions}
    gone = [str(r.id) for r in before.regions if r.id not in numbers]
    new = [str(n) for n in sorted(numbers - {r.id for r in before.regions})]
    words = ""
    if gone:
        words += " " + _("Covered by it: {numbers}.").format(numbers=", ".join(gone))
    if new:
        words += " " + _("New pieces: {numbers}.").format(numbers=", ".join(new))
    return words


def area_to_line(region_map: RegionMap, edit: AreaToLine, means: EditMeans) -> Edited:
    """Return the design with a long thin area as a line along its middle."""
    region = find_sewn(region_map, edit.area)
    _check_width(edit.width_mm, least=0.0)
    lines = centre_lines(region.polygon, width_mm=edit.width_mm)
    if not lines:
        raise EditError(
            _("area {number} is too round to have a middle line").format(number=region.id),
            remedy=_("choose a long thin area"),
        )
    shape = region.polygon if edit.width_mm == 0.0 else stroke_shape(lines)
    made = reshape_area(region_map, region, shape, next_id=means.first_new(region_map))
    made = _with_lines(made, region.id, lines)
    widths = np.concatenate([line.width_mm for line in lines])
    sentence = _("{area} is a line now, {low:.2f} to {high:.2f} mm wide.").format(
        area=_capital(area_words(region_map, region)), low=widths.min(), high=widths.max()
    )
    return Edited(made, sentence)


def line_to_area(region_map: RegionMap, edit: LineToArea, means: EditMeans) -> Edited:
    """Return the design with a line as a plain area."""
    region = find_sewn(region_map, edit.area)
    _check_width(edit.width_mm, least=0.0)
    if not region.lines:
        raise EditError(
            _("area {number} is no line").format(number=region.id),
            remedy=_("it is an area already; thicken it for another width"),
        )
    made = region_map
    if edit.width_mm > 0.0:
        wide = tuple(
            CentreLine(line.xy_mm, np.full(len(line.width_mm), edit.width_mm))
            for line in region.lines
        )
        made = reshape_area(
            region_map, region, stroke_shape(wide), next_id=means.first_new(region_map)
        )
    made = _with_lines(made, region.id, ())
    return Edited(
        made,
        _("{area} is a plain area now.").format(area=_capital(area_words(region_map, region))),
    )


def centre_lines(polygon: shapely.Polygon, *, width_mm: float) -> tuple[CentreLine, ...]:
    """Return the middle lines of an area, lengthened to its ends, longest first.

    Parameters
    ----------
    polygon : shapely.Polygon [mm]
    width_mm : float [mm]
        Width given to them; 0 keeps the area's own at every point.
    """
    axis = medial_axis(polygon)
    found = []
    for branch in axis.branches:
        xy = shapely.get_coordinates(shapely.simplify(shapely.LineString(branch.points_mm), 0.02))
        at = np.hypot(*(branch.points_mm[:, None] - xy[None]).T).argmin(axis=1)
        radii = branch.radii_mm[at]
        if len(xy) < 2 or branch.length_mm < radii.mean():
            continue
        width = np.full(len(xy), width_mm) if width_mm > 0 else np.maximum(2 * radii, 1e-3)
        found.append(CentreLine(xy, width))
    return tuple(sorted(found, key=lambda line: -shapely.LineString(line.xy_mm).length))


def stroke_shape(lines: tuple[CentreLine, ...]) -> shapely.Geometry:
    """Return what lines cover: round ends, each piece as wide as its ends [mm]."""
    pieces: list[shapely.Geometry] = []
    for line in lines:
        discs = shapely.buffer(shapely.points(line.xy_mm), 0.5 * line.width_mm, quad_segs=12)
        if np.ptp(line.width_mm) == 0.0:
            whole = shapely.LineString(line.xy_mm)
            pieces.append(shapely.buffer(whole, 0.5 * line.width_mm[0], quad_segs=12))
        else:
            pieces += [
                shapely.convex_hull(shapely.union(a, b)) for a, b in pairwise(discs.tolist())
            ]
    return shapely.union_all(pieces)


def _with_lines(region_map: RegionMap, number: int, lines: tuple[CentreLine, ...]) -> RegionMap:
    regions = tuple(replace(r, lines=lines) if r.id == number else r for r in region_map.regions)
    return replace(region_map, regions=regions)


def add_ring(region_map: RegionMap, edit: AddRing, means: EditMeans) -> Edited:
    """Return the design with an outline ring round areas, behind or in front."""
    _check_width(edit.width_mm, least=0.05)
    areas = find_areas(region_map, edit.areas) or region_map.sewn_regions
    made, color = with_thread(region_map, edit.thread, means=means)
    # Holes inside the areas are theirs: a ring runs round the outside.
    whole = shapely.union_all([shapely.Polygon(area.polygon.exterior) for area in areas])
    half = 0.5 * edit.width_mm
    takes = [NOTHING, *(r.id for r in region_map.regions if edit.in_front or r.is_bare)]
    outer = shapely.buffer(
        whole, half if edit.in_front else edit.width_mm, join_style="mitre", mitre_limit=_MITRE
    )
    inner = shapely.buffer(whole, -half, join_style="mitre") if edit.in_front else whole
    ring = areas_of(shapely.difference(outer, inner))
    patchwork = cut_areas(region_map.regions, [outer.boundary, inner.boundary])
    taken = patchwork.within(ring) & np.isin(patchwork.owner, takes)
    number = means.first_new(region_map)
    owner = np.where(taken, number, patchwork.owner)
    if not taken.any():
        raise EditError(
            _("there is no room for a ring behind"),
            remedy=_("lay it in front, or name areas with cloth round them"),
        )
    added = {number: Region(number, shapely.get_parts(ring)[0], color)}
    made = assemble(made, patchwork, owner, next_id=number + 1, added=added)
    sentence = _("A ring {mm:.2f} mm wide in {thread} is laid {where} {what}.").format(
        mm=edit.width_mm,
        thread=edit.thread,
        where=_("in front of") if edit.in_front else _("behind"),
        what=_("the whole design")
        if not edit.areas
        else ", ".join(area_words(region_map, area) for area in areas),
    )
    return Edited(made, sentence)


def _check_width(width_mm: float, *, least: float) -> None:
    if not least <= width_mm <= MOST_MM:
        raise EditError(
            _("a line cannot be {mm:g} mm wide").format(mm=width_mm),
            remedy=_("choose {low:g} to {high:g} mm").format(low=least, high=MOST_MM),
        )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
