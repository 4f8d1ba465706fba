"""For each area and gap the smallest height at which it can be sewn, and what to do below it.

Input: a design, the width of the thread as it lies and of the narrowest gap that stays open.
Output: ``SewableSize`` values, the largest need first. Remedies are edits, or another height or
thread.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import shapely

from firstpiece.editing.patchwork import SLIVER_MM
from firstpiece.geometry.contours import areas_of
from firstpiece.geometry.narrow_part import NarrowPart, find_narrow_part
from firstpiece.model.edit import AreaRef, CloseGap, DropArea, ThickenArea
from firstpiece.model.sewable import SewableSize, SizeRemedy, WayOut

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.edit import Edit
    from firstpiece.model.region import Region, RegionMap

FURTHEST = 16.0
"""Areas this many threads wide everywhere can be sewn at any height that is asked for."""

DROP_BELOW = 3.0
"""Areas less than this many threads wide everywhere may be left out."""

_HALVINGS = 6
_SPARE = 1.02
"""A remedy aims a little above the limit, so that what it makes is not too small again."""


def find_sewable_sizes(
    region_map: RegionMap,
    *,
    thread_mm: float,
    gap_mm: float,
    thinner: Mapping[str, float] | None = None,
) -> tuple[SewableSize, ...]:
    """Return how small each area and each narrow gap may become.

    Parameters
    ----------
    region_map : RegionMap
    thread_mm : float [mm]
        Width of the thread as it lies: no part of an area can be narrower.
    gap_mm : float [mm]
        Narrowest bare cloth between threads that stays open.
    thinner : mapping of str to float or None
        Thread cards that lie narrower, with their widths [mm].

    Returns
    -------
    tuple of SewableSize
        One per sewn area, and one per gap that is too narrow now; the largest need first.

    Notes
    -----
    Widths grow in proportion to the height. An area's height is found by asking
    ``find_narrow_part`` with wider and wider threads at the present height, to 2 %.
    """
    found = [_area_size(region_map, r, thread_mm, thinner or {}) for r in region_map.sewn_regions]
    found += _gap_sizes(region_map, gap_mm)
    found.sort(key=lambda s: (-s.smallest_height_mm, s.is_gap, s.areas))
    return tuple(found)


def _area_size(
    region_map: RegionMap, region: Region, thread_mm: float, thinner: Mapping[str, float]
) -> SewableSize:
    widest = _widest(region.polygon)
    if widest.width_mm < thread_mm:
        part: NarrowPart | None = widest
    else:
        part = find_narrow_part(region.polygon, limit_mm=thread_mm)
    if part is not None:
        remedies = _area_remedies(region_map, region, part, thread_mm, thinner)
    else:
        part, remedies = _widest_limit(region.polygon, thread_mm, widest), ()
    height = region_map.height_mm * thread_mm / max(part.width_mm, SLIVER_MM)
    return SewableSize(
        is_gap=False,
        areas=(region.id,),
        width_mm=part.width_mm,
        limit_mm=thread_mm,
        smallest_height_mm=height,
        where_mm=part.where_mm,
        remedies=remedies,
    )


def _widest(polygon: shapely.Polygon) -> NarrowPart:
    """Return the diameter and middle of the largest circle inside an area."""
    spoke = shapely.maximum_inscribed_circle(polygon, tolerance=0.01)
    x, y = shapely.get_coordinates(spoke)[0]
    return NarrowPart(2.0 * float(spoke.length), (float(x), float(y)))


def _widest_limit(polygon: shapely.Polygon, thread_mm: float, widest: NarrowPart) -> NarrowPart:
    """Return the widest thread an area could be sewn with, and where it would fail beyond."""
    # Wider than its largest circle nothing of the area is left, so no thread can be.
    low, high = 1.0, min(FURTHEST, widest.width_mm / thread_mm)
    found = find_narrow_part(polygon, limit_mm=high * thread_mm)
    if found is None:
        return NarrowPart(high * thread_mm, widest.where_mm)
    place = found.where_mm
    for _round in range(_HALVINGS):
        middle = math.sqrt(low * high)
        found = find_narrow_part(polygon, limit_mm=middle * thread_mm)
        if found is None:
            low = middle
        else:
            high, place = middle, found.where_mm
    return NarrowPart(low * thread_mm, place)


def _area_remedies(
    region_map: RegionMap,
    region: Region,
    part: NarrowPart,
    thread_mm: float,
    thinner: Mapping[str, float],
) -> tuple[SizeRemedy, ...]:
    ref = AreaRef(region.id, _inside(region))
    by = round(_SPARE * thread_mm - part.width_mm, 2)
    share = by * region.polygon.length / 2.0 / region.polygon.area
    ways = [
        SizeRemedy(
            WayOut.THICKEN,
            _("Thicken area {n} by {mm:.2f} mm: {share:.0%} more thread there.").format(
                n=region.id, mm=by, share=share
            ),
            (ThickenArea(ref, by),),
        ),
    ]
    # A large area that is narrow somewhere is not left out for it.
    if _widest(region.polygon).width_mm < DROP_BELOW * thread_mm:
        said = _("Leave area {n} out: {mm2:.1f} mm² less.")
        said = said.format(n=region.id, mm2=region.polygon.area)
        ways.append(SizeRemedy(WayOut.DROP, said, (DropArea(ref),)))
    ways.append(_larger(region_map, thread_mm / max(part.width_mm, SLIVER_MM)))
    fits = sorted((mm, name) for name, mm in thinner.items() if mm <= part.width_mm)
    if fits:
        width, name = fits[-1]
        said = _("Sew it with {thread}, which lies {mm:.2f} mm wide.")
        ways.append(
            SizeRemedy(WayOut.THINNER_THREAD, said.format(thread=name, mm=width), thread=name)
        )
    return tuple(ways)


def _larger(region_map: RegionMap, factor: float) -> SizeRemedy:
    height = float(math.ceil(region_map.height_mm * factor - 1e-9))
    said = _("Make the design {height:.0f} mm high instead of {now:.0f} mm.")
    return SizeRemedy(
        WayOut.LARGER,
        said.format(height=height, now=region_map.height_mm),
        height_mm=height,
    )


def _gap_sizes(region_map: RegionMap, gap_mm: float) -> list[SewableSize]:
    """Return the stretches of bare cloth that are too narrow to stay open."""
    sewn = region_map.sewn_regions
    if not sewn:
        return []
    threads = shapely.coverage_union_all([r.polygon for r in sewn])
    closed = shapely.buffer(shapely.buffer(threads, gap_mm / 2), -gap_mm / 2 * 1.001)
    slots = shapely.get_parts(areas_of(shapely.difference(closed, threads)))
    found = []
    for slot in slots:
        # A notch's tip closes on every corner; only a stretch that shows counts.
        if slot.area < gap_mm**2 / 2 or slot.length < 4.0 * gap_mm:
            continue
        size = _gap_size(region_map, slot, gap_mm)
        if size is not None:
            found.append(size)
    return found


def _gap_size(region_map: RegionMap, slot: shapely.Polygon, gap_mm: float) -> SewableSize | None:
    part = find_narrow_part(slot, limit_mm=gap_mm)
    if part is None:
        return None
    reach = shapely.buffer(slot, 0.02)
    beside = sorted(
        (r for r in region_map.sewn_regions if r.polygon.intersects(reach)),
        key=lambda r: (-shapely.intersection(r.polygon.boundary, reach).length, r.id),
    )[:2]
    if not beside:
        return None
    factor = gap_mm / max(part.width_mm, SLIVER_MM)
    return SewableSize(
        is_gap=True,
        areas=tuple(r.id for r in beside),
        width_mm=part.width_mm,
        limit_mm=gap_mm,
        smallest_height_mm=region_map.height_mm * factor,
        where_mm=part.where_mm,
        remedies=_gap_remedies(region_map, beside, part, gap_mm),
    )


def _gap_remedies(
    region_map: RegionMap, beside: list[Region], part: NarrowPart, gap_mm: float
) -> tuple[SizeRemedy, ...]:
    refs = [AreaRef(r.id, _inside(r)) for r in beside]
    names = _(" and ").join(str(r.id) for r in beside)
    by = round((_SPARE * gap_mm - part.width_mm) * (2.0 if len(refs) == 1 else 1.0), 2)
    thin: tuple[Edit, ...] = tuple(ThickenArea(ref, -by) for ref in refs)
    close = CloseGap(refs[0], round(1.1 * gap_mm, 2), refs[1] if len(refs) > 1 else None)
    factor = gap_mm / max(part.width_mm, SLIVER_MM)
    ways = [
        SizeRemedy(
            WayOut.CLOSE,
            _("Close the gap: area {n} takes it.").format(n=beside[0].id),
            (close,),
        ),
        _larger(region_map, factor),
    ]
    if all(not shapely.buffer(r.polygon, -by).is_empty for r in beside):
        said = _("Thin area {names} by {mm:.2f} mm: the gap stays open.")
        ways.insert(0, SizeRemedy(WayOut.WIDEN, said.format(names=names, mm=by), thin))
    return tuple(ways)


def _inside(region: Region) -> tuple[float, float]:
    point = region.polygon.point_on_surface()
    return (round(float(point.x), 3), round(float(point.y), 3))
