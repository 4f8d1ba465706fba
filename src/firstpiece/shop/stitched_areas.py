"""Areas guessed from stitches: what a stitch list lays on the cloth, as a design with its areas.

In: a plan whose areas are not known. Out: the same stitches with an area and a role for each, and
the areas as polygons that do not overlap. Stitches are told apart by how the needle turns: satin
turns back at every stitch, rows only at their ends. A guess: the person sees it and may change it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchType, Treatment

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan

PIXEL_MM = 0.1
MARGIN_MM = 2.0
CLOSING_MM = 0.6
"""Gaps narrower than this between rows belong to the area."""

TURNED_BACK = -0.75
"""Cosine of the turn at which the needle is taken to go back the way it came (139°)."""

SHORTEST_SATIN_MM = 0.6
SATIN_SHARE = 0.55
HIDDEN_SHARE = 0.25
"""Stitches of which less than this is seen from above are underlay."""

RUNNING_WIDEST_MM = 1.0
SMALLEST_MM2 = 0.25
SLIVER_MM2, SLIVER_SHARE = 2.0, 0.2
FEW_STITCHES = 24
"""Fewer stitches than this are no area of their own when they touch a larger one."""

_WINDOW = 9


@dataclass(frozen=True, slots=True)
class _Patch:
    """Stitches of one thread and one manner that touch: their rows and their pixels."""

    rows: NDArray[np.int64]
    is_satin: bool
    mask: NDArray[np.bool_]


def guess_areas(plan: StitchPlan, *, thread_mm: float) -> tuple[StitchPlan, RegionMap]:
    """Return the plan with areas, roles and treatments, centred on its box, and the areas.

    Parameters
    ----------
    plan : StitchPlan
        As read from a file; its areas and roles are not looked at.
    thread_mm : float [mm]
        Width of a laid thread.
    """
    plan = _centred(plan)
    grid = _Grid(plan)
    satin = _satin_rows(plan)
    patches = _find_patches(plan, satin, grid, thread_mm)
    top = _seen_from_above(patches, plan, grid)
    region_id = np.full(len(plan.action), -1, dtype=np.int32)
    role = np.full(len(plan.action), int(Role.COVER), dtype=np.uint8)
    regions: list[Region] = []
    kinds: list[StitchType] = []
    hidden = []
    for i, patch in enumerate(patches):
        seen = top == i
        if np.count_nonzero(seen) < HIDDEN_SHARE * np.count_nonzero(patch.mask):
            hidden.append(i)
            continue
        thread = int(plan.thread[patch.rows[0]])
        _add_regions(patch, seen, grid, (thread, plan), (regions, kinds, region_id))
    for i in hidden:
        _tuck_under(patches[i], top, patches, (region_id, role))
    treatments = tuple(
        _treatment(plan, region, kind, (region_id, role), thread_mm)
        for region, kind in zip(regions, kinds, strict=True)
    )
    matches = tuple(ColorMatch(t.rgb, t, 0.0) for t in plan.threads)
    width, height = _box(regions)
    marked = replace(plan, region_id=region_id, role=role, treatments=treatments)
    return marked, RegionMap(tuple(regions), matches, width, height)


def _centred(plan: StitchPlan) -> StitchPlan:
    """Return the plan moved so that the box of its thread is centred on the origin."""
    points = plan.xy_mm[plan.is_stitch]
    if not len(points):
        return plan
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return replace(plan, xy_mm=plan.xy_mm - middle)


def _box(regions: list[Region]) -> tuple[float, float]:
    if not regions:
        return (0.0, 0.0)
    left, bottom, right, top = shapely.total_bounds([r.polygon for r in regions])
    return (float(right - left), float(top - bottom))


def _seen_from_above(patches: list[_Patch], plan: StitchPlan, grid: _Grid) -> NDArray[np.int32]:
    """Return which patch is seen at each pixel, -1 where there is none.

    What is sewn later lies above, but lines in the thread of a satin column stay below it: they are
    its underlay, or the way to the next one.
    """
    top = np.full(grid.shape, -1, dtype=np.int32)
    satin = {thread: np.zeros(grid.shape, dtype=bool) for thread in range(len(plan.threads))}
    for patch in patches:
        if patch.is_satin:
            satin[int(plan.thread[patch.rows[0]])] |= patch.mask
    for i, patch in enumerate(patches):
        if patch.is_satin:
            top[patch.mask] = i
        else:
            top[patch.mask & ~satin[int(plan.thread[patch.rows[0]])]] = i
    return top


class _Grid:
    """Pixels over the design; row 0 is the lowest, so that no axis is turned."""

    def __init__(self, plan: StitchPlan) -> None:
        points = plan.xy_mm[plan.is_stitch] if plan.n_stitches else np.zeros((1, 2))
        self.origin = points.min(axis=0) - MARGIN_MM
        size = np.ptp(points, axis=0) + 2 * MARGIN_MM
        self.shape = (int(size[1] / PIXEL_MM) + 1, int(size[0] / PIXEL_MM) + 1)

    def pixels(self, xy_mm: NDArray[np.float64]) -> NDArray[np.int32]:
        """Return (n, 2) int32 columns and rows of places."""
        found: NDArray[np.int32] = np.round((xy_mm - self.origin) / PIXEL_MM).astype(np.int32)
        return found

    def places(self, contour: NDArray[np.int32]) -> NDArray[np.float64]:
        """Return (n, 2) float64 [mm] of contour points."""
        found: NDArray[np.float64] = contour.reshape(-1, 2) * PIXEL_MM + self.origin
        return found


def _satin_rows(plan: StitchPlan) -> NDArray[np.bool_]:
    """Return (n,) bool: stitches in whose neighbourhood the needle mostly turns back."""
    n = len(plan.action)
    sewn = np.zeros(n + 1, dtype=bool)
    sewn[plan.sewn_segments()] = True
    step = np.diff(plan.xy_mm, axis=0, prepend=plan.xy_mm[:1])
    length = np.hypot(step[:, 0], step[:, 1])
    unit = step / np.maximum(length, 1e-9)[:, None]
    cosine = np.ones(n)
    cosine[:-1] = np.sum(unit[:-1] * unit[1:], axis=1)
    both = sewn[:n] & sewn[1:]
    long = np.minimum(length, np.append(length[1:], 0.0)) > SHORTEST_SATIN_MM
    turned = (both & long & (cosine < TURNED_BACK)).astype(float)
    kernel = np.ones(_WINDOW)
    share = np.convolve(turned, kernel, "same") / np.maximum(
        np.convolve(both.astype(float), kernel, "same"), 1.0
    )
    satin: NDArray[np.bool_] = (share >= SATIN_SHARE) & (plan.action == Action.STITCH)
    return satin


def _find_patches(
    plan: StitchPlan, satin: NDArray[np.bool_], grid: _Grid, thread_mm: float
) -> list[_Patch]:
    """Return the patches in the order in which their last stitch is sewn."""
    segments = plan.sewn_segments()
    patches = []
    for thread in range(len(plan.threads)):
        for is_satin in (False, True):
            chosen = (plan.thread[segments] == thread) & (satin[segments] == is_satin)
            rows = segments[chosen]
            if len(rows):
                patches += _patches_of(plan, rows, grid, (is_satin, thread_mm))
    patches = _absorb_small(patches, plan)
    return sorted(patches, key=lambda p: (int(p.rows.max()), int(p.rows.min())))


def _absorb_small(patches: list[_Patch], plan: StitchPlan) -> list[_Patch]:
    """Give patches of few stitches (ends of columns, ties, ways between) to what they touch.

    The smallest goes first, to the neighbour of its thread that it touches along the most pixels.
    """
    kept = sorted(patches, key=lambda p: (-len(p.rows), int(p.rows.min())))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))
    for i in range(len(kept) - 1, -1, -1):
        patch = kept[i]
        if len(patch.rows) >= FEW_STITCHES:
            break
        if _lies_under(patch, kept, plan):
            continue
        thread = plan.thread[patch.rows[0]]
        near = cv2.dilate(patch.mask.astype(np.uint8), disc) > 0
        touching = [
            int(np.count_nonzero(other.mask & near)) if plan.thread[other.rows[0]] == thread else 0
            for other in kept[:i]
        ]
        if not touching or not max(touching):
            continue
        j = int(np.argmax(touching))
        rows = np.sort(np.concatenate([kept[j].rows, patch.rows]))
        kept[j] = _Patch(rows, kept[j].is_satin, kept[j].mask | patch.mask)
        del kept[i]
    return kept


def _lies_under(patch: _Patch, patches: list[_Patch], plan: StitchPlan) -> bool:
    """Return whether a patch of lines lies within satin of its thread: it is underlay."""
    if patch.is_satin:
        return False
    thread = plan.thread[patch.rows[0]]
    n_pixels = np.count_nonzero(patch.mask)
    return any(
        np.count_nonzero(patch.mask & other.mask) > (1 - HIDDEN_SHARE) * n_pixels
        for other in patches
        if other.is_satin and plan.thread[other.rows[0]] == thread
    )


def _patches_of(
    plan: StitchPlan, rows: NDArray[np.int64], grid: _Grid, how: tuple[bool, float]
) -> list[_Patch]:
    is_satin, thread_mm = how
    canvas = np.zeros(grid.shape, dtype=np.uint8)
    ends = grid.pixels(np.stack([plan.xy_mm[rows - 1], plan.xy_mm[rows]], axis=1))
    thick = max(1, round(thread_mm / PIXEL_MM))
    cv2.polylines(canvas, list(ends), isClosed=False, color=1, thickness=thick)
    size = round(CLOSING_MM / PIXEL_MM) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    canvas = cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, disc)
    _n, labels = cv2.connectedComponents(canvas)
    at = grid.pixels(plan.xy_mm[rows])
    mine = labels[at[:, 1], at[:, 0]]
    return [
        _Patch(rows[mine == label], is_satin, labels == label)
        for label in np.unique(mine)
        if label > 0
    ]


def _add_regions(
    patch: _Patch,
    seen: NDArray[np.bool_],
    grid: _Grid,
    of: tuple[int, StitchPlan],
    into: tuple[list[Region], list[StitchType], NDArray[np.int32]],
) -> None:
    """Add the visible parts of a patch as areas, and give its rows to them."""
    thread, plan = of
    regions, kinds, region_id = into
    parts = _polygons(seen, grid)
    if not parts:
        return
    first = len(regions)
    for polygon in parts:
        regions.append(Region(len(regions), polygon, thread))
        width = 2 * polygon.area / polygon.length
        thin = width < RUNNING_WIDEST_MM and not patch.is_satin
        kinds.append(
            StitchType.SATIN if patch.is_satin else StitchType.RUNNING if thin else StitchType.FILL
        )
    places = shapely.points(plan.xy_mm[patch.rows])
    owner = np.full(len(patch.rows), first + int(np.argmax([p.area for p in parts])))
    for i, polygon in enumerate(parts):
        owner[shapely.dwithin(polygon, places, 2 * PIXEL_MM)] = first + i
    region_id[patch.rows] = owner
    # The stitch before the first one of a run has no thread of its own but belongs to the area.
    before = patch.rows - 1
    lone = (region_id[before] < 0) & (plan.action[before] == Action.STITCH)
    region_id[before[lone]] = owner[lone]


def _polygons(mask: NDArray[np.bool_], grid: _Grid) -> list[shapely.Polygon]:
    """Return the polygons of a mask, holes cut out, specks left away."""
    contours, tree = cv2.findContours(
        mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE
    )
    if tree is None:
        return []
    found = []
    for i, contour in enumerate(contours):
        if tree[0][i][3] >= 0 or len(contour) < 3:
            continue
        holes = [c for c, t in zip(contours, tree[0], strict=True) if t[3] == i and len(c) >= 3]
        shell = shapely.Polygon(grid.places(contour), [grid.places(h) for h in holes])
        found += [
            part
            for part in shapely.get_parts(shapely.make_valid(shell))
            if isinstance(part, shapely.Polygon) and part.area >= SMALLEST_MM2
        ]
    # Slivers that peep out between other areas are not worth an area of their own.
    largest = max((part.area for part in found), default=0.0)
    return [part for part in found if part.area >= min(SLIVER_MM2, SLIVER_SHARE * largest)]


def _tuck_under(
    patch: _Patch,
    top: NDArray[np.int32],
    patches: list[_Patch],
    into: tuple[NDArray[np.int32], NDArray[np.uint8]],
) -> None:
    """Give hidden stitches to the area that covers most of them, as underlay."""
    region_id, role = into
    over = top[patch.mask]
    covering = np.bincount(over[over >= 0], minlength=len(patches))
    best = patches[int(np.argmax(covering))]
    owners = region_id[best.rows]
    owners = owners[owners >= 0]
    if len(owners):
        region_id[patch.rows] = np.bincount(owners).argmax()
    role[patch.rows] = int(Role.UNDERLAY)


def _treatment(
    plan: StitchPlan,
    region: Region,
    kind: StitchType,
    marks: tuple[NDArray[np.int32], NDArray[np.uint8]],
    thread_mm: float,
) -> Treatment:
    """Return how an area seems to be sewn: spacing from area and length of thread, direction."""
    region_id, role = marks
    sewn = plan.sewn_segments()
    rows = sewn[(region_id[sewn] == region.id) & (role[sewn] == Role.COVER)]
    step = plan.xy_mm[rows] - plan.xy_mm[rows - 1]
    length = np.hypot(step[:, 0], step[:, 1])
    total = float(length.sum())
    # The mean of doubled angles: there and back along a row are one direction.
    angle = 0.5 * np.arctan2(
        float(np.sum(length * np.sin(2 * np.arctan2(step[:, 1], step[:, 0])))),
        float(np.sum(length * np.cos(2 * np.arctan2(step[:, 1], step[:, 0])))),
    )
    per_row = region.polygon.area / total if total > 0 else thread_mm
    spacing = {StitchType.FILL: per_row, StitchType.SATIN: 2 * per_row}.get(kind, 0.0)
    first = int(np.flatnonzero(region_id == region.id)[0]) if (region_id == region.id).any() else 0
    n_before = len(np.unique(region_id[:first][region_id[:first] >= 0]))
    return Treatment(
        region_id=region.id,
        stitch_type=kind,
        angle_rad=float(angle % np.pi),
        spacing_mm=float(spacing),
        stitch_length_mm=float(np.median(length)) if len(length) else 0.0,
        underlay=(),
        pull_mm=0.0,
        thread_index=region.color_index,
        sewn_order=n_before,
        n_stitches=int(np.count_nonzero((region_id == region.id) & plan.is_stitch)),
        reason=_("Guessed from its stitches."),
    )
