"""Areas guessed from stitches: what a stitch list lays on the cloth, as a design with its areas.

In: a plan whose areas are not known. Out: the same stitches with an area and a role for each, and
the areas as polygons that do not overlap. Stitches are told apart by how the needle turns: satin
turns back at every stitch, rows only at their ends. A guess: the person sees it and may change it.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchType, Treatment
from firstpiece.shop.seen_areas import see_areas
from firstpiece.shop.stitch_patches import HIDDEN_SHARE, PixelGrid, find_patches

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan
    from firstpiece.shop.seen_areas import SeenAreas
    from firstpiece.shop.stitch_patches import Patch

RUNNING_WIDEST_MM = 1.0


def guess_areas(plan: StitchPlan, *, thread_mm: float) -> tuple[StitchPlan, RegionMap]:
    """Return the plan with areas, roles and treatments, centred on its box, and the areas.

    Parameters
    ----------
    plan : StitchPlan
        As read from a file; its areas and roles are not looked at.
    thread_mm : float [mm]
        Width of a laid thread.
    """
    grid = PixelGrid(plan)
    patches = find_patches(plan, grid, thread_mm=thread_mm)
    seen = see_areas(patches, plan, grid, hidden_share=HIDDEN_SHARE)
    plan, polygons = _centred(plan, seen.polygons)
    regions = [
        Region(i, polygon, patches[patch].thread)
        for i, (polygon, patch) in enumerate(zip(polygons, seen.patch_of, strict=True))
    ]
    kinds = [
        _kind(polygon, is_satin=patches[patch].is_satin)
        for polygon, patch in zip(seen.polygons, seen.patch_of, strict=True)
    ]
    region_id, role = _mark_rows(plan, patches, seen)
    treatments = _treatments(plan, regions, kinds, (region_id, role), thread_mm)
    matches = tuple(ColorMatch(t.rgb, t, 0.0) for t in plan.threads)
    width, height = _box(regions)
    marked = replace(plan, region_id=region_id, role=role, treatments=treatments)
    return marked, RegionMap(tuple(regions), matches, width, height)


def _centred(
    plan: StitchPlan, polygons: Sequence[shapely.Polygon]
) -> tuple[StitchPlan, list[shapely.Polygon]]:
    """Return plan and areas moved so that the painted box is centred on the origin."""
    if not polygons:
        return plan, []
    left, bottom, right, top = shapely.total_bounds(polygons)
    middle = np.array([left + right, bottom + top]) / 2
    # To the hundredth of a millimetre that is written, so that steps stay what they were.
    middle = np.round(middle, 2)
    moved = shapely.transform(np.array(polygons, dtype=object), lambda xy: xy - middle)
    return replace(plan, xy_mm=plan.xy_mm - middle), moved.tolist()


def _box(regions: list[Region]) -> tuple[float, float]:
    if not regions:
        return (0.0, 0.0)
    left, bottom, right, top = shapely.total_bounds([r.polygon for r in regions])
    return (float(right - left), float(top - bottom))


def _kind(polygon: shapely.Polygon, *, is_satin: bool) -> StitchType:
    if is_satin:
        return StitchType.SATIN
    is_thin = 2 * polygon.area / polygon.length < RUNNING_WIDEST_MM
    return StitchType.RUNNING if is_thin else StitchType.FILL


def _mark_rows(
    plan: StitchPlan, patches: Sequence[Patch], seen: SeenAreas
) -> tuple[NDArray[np.int32], NDArray[np.uint8]]:
    """Return the area and the role of each row."""
    region_id = seen.area_of_row.astype(np.int32)
    # The stitch before the first one of a run has no thread of its own but belongs to the area.
    has_thread = np.zeros(len(plan.action), dtype=bool)
    has_thread[plan.sewn_segments()] = True
    first = np.flatnonzero(has_thread & (region_id >= 0))
    before = first - 1
    lone = (region_id[before] < 0) & ~has_thread[before] & (plan.action[before] == Action.STITCH)
    region_id[before[lone]] = region_id[first[lone]]
    role = np.full(len(plan.action), int(Role.COVER), dtype=np.uint8)
    main_area: dict[int, int] = {}
    for i in seen.hidden:
        over = seen.top[patches[i].pixels]
        names, counts = np.unique(over[over >= 0], return_counts=True)
        role[patches[i].rows] = int(Role.UNDERLAY)
        if len(names):
            best = int(names[np.argmax(counts)])
            if best not in main_area:
                main_area[best] = _most_common(seen.area_of_row[patches[best].rows])
            region_id[patches[i].rows] = main_area[best]
    return region_id, role


def _most_common(owners: NDArray[np.int64]) -> int:
    """Return the area that most rows lie in, -1 when they lie in none."""
    owners = owners[owners >= 0]
    return int(np.bincount(owners).argmax()) if len(owners) else -1


def _treatments(
    plan: StitchPlan,
    regions: Sequence[Region],
    kinds: Sequence[StitchType],
    marks: tuple[NDArray[np.int32], NDArray[np.uint8]],
    thread_mm: float,
) -> tuple[Treatment, ...]:
    """Return how each area seems to be sewn: spacing from area and length of thread, direction."""
    region_id, role = marks
    n = len(regions)
    sewn = plan.sewn_segments()
    rows = sewn[(role[sewn] == Role.COVER) & (region_id[sewn] >= 0)]
    owner = region_id[rows]
    step = plan.xy_mm[rows] - plan.xy_mm[rows - 1]
    length = np.hypot(step[:, 0], step[:, 1])
    total = np.bincount(owner, length, minlength=n)
    # The mean of doubled angles: there and back along a row are one direction.
    double = 2 * np.arctan2(step[:, 1], step[:, 0])
    sines, cosines = (
        np.bincount(owner, length * part, minlength=n) for part in (np.sin(double), np.cos(double))
    )
    angle = 0.5 * np.arctan2(sines, cosines) % np.pi
    middle = _medians(owner, length, n)
    counts = np.bincount(region_id[(region_id >= 0) & plan.is_stitch], minlength=n)
    sewn_order = _first_seen(region_id, n)
    made = []
    for region, kind in zip(regions, kinds, strict=True):
        i = region.id
        per_row = region.polygon.area / total[i] if total[i] > 0 else thread_mm
        spacing = {StitchType.FILL: per_row, StitchType.SATIN: 2 * per_row}.get(kind, 0.0)
        made.append(
            Treatment(
                region_id=i,
                stitch_type=kind,
                angle_rad=float(angle[i]),
                spacing_mm=float(spacing),
                stitch_length_mm=float(middle[i]),
                underlay=(),
                pull_mm=0.0,
                thread_index=region.color_index,
                sewn_order=int(sewn_order[i]),
                n_stitches=int(counts[i]),
                reason=_("Guessed from its stitches."),
            )
        )
    return tuple(made)


def _medians(owner: NDArray[np.int32], values: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    """Return the middle value of each area, 0 where it has none."""
    found = np.zeros(n)
    if not len(owner):
        return found
    order = np.argsort(owner, kind="stable")
    names, first = np.unique(owner[order], return_index=True)
    for name, group in zip(names.tolist(), np.split(values[order], first[1:]), strict=True):
        found[name] = np.median(group)
    return found


def _first_seen(region_id: NDArray[np.int32], n: int) -> NDArray[np.int64]:
    """Return the order in which the areas are first sewn."""
    names, first = np.unique(region_id, return_index=True)
    first, names = first[names >= 0], names[names >= 0]
    place = np.zeros(n, dtype=np.int64)
    place[names[np.argsort(first)]] = np.arange(len(names))
    return place
