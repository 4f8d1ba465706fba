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

PIXEL_MM, MOST_PIXELS = 0.1, 16_000_000
"""Finest pixel, and how many there may be: designs above 400 mm square are seen more coarsely."""

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

NEAR_MM = 0.2
_WINDOW = 9


@dataclass(frozen=True, slots=True)
class _Patch:
    """Stitches of one thread and one manner that touch: their rows, and their pixels in a box.

    ``corner`` is the box's first row and column on the grid; boxes keep thousands of small patches
    small.
    """

    rows: NDArray[np.int64]
    thread: int
    is_satin: bool
    corner: tuple[int, int]
    mask: NDArray[np.bool_]

    @property
    def window(self) -> tuple[slice, slice]:
        """The box on the grid."""
        (row, column), (height, width) = self.corner, self.mask.shape
        return slice(row, row + height), slice(column, column + width)

    @property
    def box(self) -> tuple[int, int, int, int]:
        """First row, first column, and one past the last of each."""
        (row, column), (height, width) = self.corner, self.mask.shape
        return row, column, row + height, column + width


def _n_shared(first: _Patch, second: _Patch) -> int:
    """Return how many pixels two patches share."""
    a, b = first.box, second.box
    row0, col0 = max(a[0], b[0]), max(a[1], b[1])
    row1, col1 = min(a[2], b[2]), min(a[3], b[3])
    if row0 >= row1 or col0 >= col1:
        return 0
    one = first.mask[row0 - a[0] : row1 - a[0], col0 - a[1] : col1 - a[1]]
    two = second.mask[row0 - b[0] : row1 - b[0], col0 - b[1] : col1 - b[1]]
    return int(np.count_nonzero(one & two))


def _joined(first: _Patch, second: _Patch) -> _Patch:
    """Return a patch of both, of the first one's manner."""
    a, b = first.box, second.box
    row0, col0 = min(a[0], b[0]), min(a[1], b[1])
    mask = np.zeros((max(a[2], b[2]) - row0, max(a[3], b[3]) - col0), dtype=bool)
    for patch, box in ((first, a), (second, b)):
        mask[box[0] - row0 : box[2] - row0, box[1] - col0 : box[3] - col0] |= patch.mask
    rows = np.sort(np.concatenate([first.rows, second.rows]))
    return _Patch(rows, first.thread, first.is_satin, (row0, col0), mask)


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
        seen = top[patch.window] == i
        if np.count_nonzero(seen) < HIDDEN_SHARE * np.count_nonzero(patch.mask):
            hidden.append(i)
            continue
        _add_regions(patch, _polygons(seen, grid, patch.corner), plan, (regions, kinds, region_id))
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
            satin[patch.thread][patch.window] |= patch.mask
    for i, patch in enumerate(patches):
        mask = patch.mask
        if not patch.is_satin:
            mask = mask & ~satin[patch.thread][patch.window]
        top[patch.window][mask] = i
    return top


class _Grid:
    """Pixels over the design; row 0 is the lowest, so that no axis is turned."""

    def __init__(self, plan: StitchPlan) -> None:
        points = plan.xy_mm[plan.is_stitch] if plan.n_stitches else np.zeros((1, 2))
        self.origin = points.min(axis=0) - MARGIN_MM
        size = np.ptp(points, axis=0) + 2 * MARGIN_MM
        self.pixel_mm = max(PIXEL_MM, float(np.sqrt(size[0] * size[1] / MOST_PIXELS)))
        self.shape = (int(size[1] / self.pixel_mm) + 1, int(size[0] / self.pixel_mm) + 1)

    def pixels(self, xy_mm: NDArray[np.float64]) -> NDArray[np.int32]:
        """Return (n, 2) int32 columns and rows of places."""
        found: NDArray[np.int32] = np.round((xy_mm - self.origin) / self.pixel_mm).astype(np.int32)
        return found

    def places(self, contour: NDArray[np.int32], corner: tuple[int, int]) -> NDArray[np.float64]:
        """Return (n, 2) float64 [mm] of contour points in a box at a corner."""
        at = contour.reshape(-1, 2) + np.array(corner[::-1])
        found: NDArray[np.float64] = at * self.pixel_mm + self.origin
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
    patches = _absorb_small(patches)
    return sorted(patches, key=lambda p: (int(p.rows.max()), int(p.rows.min())))


def _absorb_small(patches: list[_Patch]) -> list[_Patch]:
    """Give patches of few stitches (ends of columns, ties, ways between) to what they touch.

    The smallest goes first, to the neighbour of its thread that it touches along the most pixels.
    """
    kept = sorted(patches, key=lambda p: (-len(p.rows), int(p.rows.min())))
    for i in range(len(kept) - 1, -1, -1):
        patch = kept[i]
        if len(patch.rows) >= FEW_STITCHES:
            break
        near = _grown(patch)
        beside = [j for j in range(i) if kept[j].thread == patch.thread]
        if _lies_under(patch, [kept[j] for j in beside]):
            continue
        touching = np.array([_n_shared(near, kept[j]) for j in beside], dtype=np.int64)
        if touching.any():
            j = beside[int(np.argmax(touching))]
            kept[j] = _joined(kept[j], patch)
            del kept[i]
    return kept


def _grown(patch: _Patch) -> _Patch:
    """Return a patch that reaches three pixels further."""
    pad = 3
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * pad + 1, 2 * pad + 1))
    mask = cv2.dilate(np.pad(patch.mask, pad).astype(np.uint8), disc) > 0
    row, column = patch.corner
    return replace(patch, corner=(row - pad, column - pad), mask=mask)


def _lies_under(patch: _Patch, patches: list[_Patch]) -> bool:
    """Return whether a patch of lines lies within satin of its thread: it is underlay."""
    if patch.is_satin:
        return False
    most = (1 - HIDDEN_SHARE) * np.count_nonzero(patch.mask)
    return any(other.is_satin and _n_shared(patch, other) > most for other in patches)


def _patches_of(
    plan: StitchPlan, rows: NDArray[np.int64], grid: _Grid, how: tuple[bool, float]
) -> list[_Patch]:
    is_satin, thread_mm = how
    canvas = np.zeros(grid.shape, dtype=np.uint8)
    ends = grid.pixels(np.stack([plan.xy_mm[rows - 1], plan.xy_mm[rows]], axis=1))
    thick = max(1, round(thread_mm / grid.pixel_mm))
    cv2.polylines(canvas, list(ends), isClosed=False, color=1, thickness=thick)
    size = round(CLOSING_MM / grid.pixel_mm) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    canvas = cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, disc)
    _n, labels, boxes, _middles = cv2.connectedComponentsWithStats(canvas)
    at = grid.pixels(plan.xy_mm[rows])
    mine = labels[at[:, 1], at[:, 0]]
    order = np.argsort(mine, kind="stable")
    names, first = np.unique(mine[order], return_index=True)
    patches = []
    for label, group in zip(names.tolist(), np.split(rows[order], first[1:]), strict=True):
        if label > 0:
            left, top, width, height = boxes[label, :4].tolist()
            mask = labels[top : top + height, left : left + width] == label
            patches.append(_Patch(group, int(plan.thread[group[0]]), is_satin, (top, left), mask))
    return patches


def _add_regions(
    patch: _Patch,
    parts: list[shapely.Polygon],
    plan: StitchPlan,
    into: tuple[list[Region], list[StitchType], NDArray[np.int32]],
) -> None:
    """Add the visible parts of a patch as areas, and give its rows to them."""
    regions, kinds, region_id = into
    if not parts:
        return
    first = len(regions)
    for polygon in parts:
        regions.append(Region(len(regions), polygon, patch.thread))
        width = 2 * polygon.area / polygon.length
        thin = width < RUNNING_WIDEST_MM and not patch.is_satin
        kinds.append(
            StitchType.SATIN if patch.is_satin else StitchType.RUNNING if thin else StitchType.FILL
        )
    places = shapely.points(plan.xy_mm[patch.rows])
    owner = np.full(len(patch.rows), first + int(np.argmax([p.area for p in parts])))
    for i, polygon in enumerate(parts):
        owner[shapely.dwithin(polygon, places, NEAR_MM)] = first + i
    region_id[patch.rows] = owner
    # The stitch before the first one of a run has no thread of its own but belongs to the area.
    before = patch.rows - 1
    lone = (region_id[before] < 0) & (plan.action[before] == Action.STITCH)
    region_id[before[lone]] = owner[lone]


def _polygons(
    mask: NDArray[np.bool_], grid: _Grid, corner: tuple[int, int]
) -> list[shapely.Polygon]:
    """Return the polygons of a mask in a box at a corner, holes cut out, specks left away."""
    contours, tree = cv2.findContours(
        mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE
    )
    if tree is None:
        return []
    holes: dict[int, list[NDArray[np.float64]]] = {}
    parents = tree[0][:, 3].tolist()
    for contour, parent in zip(contours, parents, strict=True):
        if parent >= 0 and len(contour) >= 3:
            holes.setdefault(parent, []).append(grid.places(contour, corner))
    found = []
    for i, contour in enumerate(contours):
        if parents[i] >= 0 or len(contour) < 3:
            continue
        shell = shapely.Polygon(grid.places(contour, corner), holes.get(i, []))
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
    over = top[patch.window][patch.mask]
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
