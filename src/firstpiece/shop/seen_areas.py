"""What of each patch is seen from above, as polygons that share their edges.

In: patches in the order of sewing, on their grid. Out: areas with the patch each belongs to, and
which area every row of the plan lies in. Everything is done on the one grid for all patches at
once: the work grows with pixels and stitches, not with patches times patches.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from skimage.measure import label as label_alike

from firstpiece.kernels.crack_edges import trace_cracks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan
    from firstpiece.shop.stitch_patches import Patch, PixelGrid

SMALLEST_MM2 = 0.25
SLIVER_MM2, SLIVER_SHARE = 2.0, 0.2
"""Slivers that peep out between other areas are not worth an area of their own."""

MOST_HOLES = 2000
"""A net of threads has thousands of holes; the smallest beyond these are filled."""

MOST_LONE = 500
"""Parts in which no needle goes in; the smallest beyond these are left away."""

NEAR_PIXELS = 2
SIMPLER_PIXELS = 1.0
BARE = -1


@dataclass(frozen=True, slots=True, eq=False)
class SeenAreas:
    """Areas as they are seen.

    Parameters
    ----------
    polygons : tuple of shapely.Polygon
        Disjoint, in the order of their patches; neighbours share their edges.
    patch_of : (k,) int64
        The patch of each area.
    area_of_row : (n,) int64
        The area of each row of the plan, -1 for rows of hidden patches and of none.
    top : (m,) int32
        The patch that is seen at each pixel of the grid, -1 where cloth is.
    hidden : tuple of int
        Patches of which too little is seen: they are underlay.
    """

    polygons: tuple[shapely.Polygon, ...]
    patch_of: NDArray[np.int64]
    area_of_row: NDArray[np.int64]
    top: NDArray[np.int32]
    hidden: tuple[int, ...]


def see_areas(
    patches: Sequence[Patch], plan: StitchPlan, grid: PixelGrid, *, hidden_share: float
) -> SeenAreas:
    """Return the areas that are seen; a patch of which less than a share is seen is hidden."""
    if not patches:
        nothing = np.full(len(plan.action), -1, dtype=np.int64)
        return SeenAreas((), np.zeros(0, dtype=np.int64), nothing, np.zeros(0, np.int32), ())
    top = _seen_from_above(patches, grid)
    n_seen = np.bincount(top[top >= 0], minlength=len(patches))
    is_hidden = n_seen < np.array([len(p.pixels) for p in patches]) * hidden_share
    labels = np.where((top >= 0) & ~is_hidden[np.maximum(top, 0)], top, BARE).astype(np.int32)
    parts = np.asarray(
        label_alike(labels.reshape(grid.shape), background=BARE, connectivity=1), dtype=np.int32
    )
    part_patch = np.full(int(parts.max()) + 1, BARE, dtype=np.int64)
    part_patch[parts.ravel()] = labels
    part_of_row = _parts_of_rows(patches, plan, grid, (labels, parts.ravel()))
    kept = _worth_keeping(parts, part_patch, part_of_row, grid)
    polygons, numbers = _outline(_fill_holes(np.where(kept[parts], parts, 0), grid), grid)
    order = np.lexsort((numbers, part_patch[numbers]))
    polygons, numbers = polygons[order], numbers[order]
    area_of_part = np.full(len(part_patch), -1, dtype=np.int64)
    area_of_part[numbers] = np.arange(len(numbers))
    patch_of = part_patch[numbers]
    area_of_row = _areas_of_rows(patches, part_of_row, area_of_part, (polygons, patch_of))
    return SeenAreas(
        tuple(polygons.tolist()),
        patch_of,
        area_of_row,
        top,
        tuple(np.flatnonzero(is_hidden).tolist()),
    )


def _seen_from_above(patches: Sequence[Patch], grid: PixelGrid) -> NDArray[np.int32]:
    """Return which patch is seen at each pixel, -1 where there is none.

    What is sewn later lies above, but lines in the thread of a satin column stay below it: they are
    its underlay, or the way to the next one.
    """
    n = grid.shape[0] * grid.shape[1]
    top = np.full(n, BARE, dtype=np.int32)
    satin = {p.thread: np.zeros(n, dtype=bool) for p in patches}
    for patch in patches:
        if patch.is_satin:
            satin[patch.thread][patch.pixels] = True
    for i, patch in enumerate(patches):
        pixels = patch.pixels
        if not patch.is_satin:
            pixels = pixels[~satin[patch.thread][pixels]]
        top[pixels] = i
    return top


def _parts_of_rows(
    patches: Sequence[Patch],
    plan: StitchPlan,
    grid: PixelGrid,
    seen: tuple[NDArray[np.int32], NDArray[np.int32]],
) -> NDArray[np.int64]:
    """Return (n,) int64: the part that each row of the plan lies in or near, 0 for none.

    ``seen`` is the patch and the part at each pixel.
    """
    labels, parts = seen
    found = np.zeros(len(plan.action), dtype=np.int64)
    rows = np.concatenate([p.rows for p in patches])
    patch = np.repeat(np.arange(len(patches)), [len(p.rows) for p in patches])
    reach = range(-NEAR_PIXELS, NEAR_PIXELS + 1)
    offsets = sorted(((r, c) for r in reach for c in reach), key=lambda o: o[0] ** 2 + o[1] ** 2)
    at = grid.flat(plan.xy_mm[rows])
    for offset in offsets:
        (moved,) = grid.around(at, [offset])
        hit = labels[moved] == patch
        found[rows[hit]] = parts[moved[hit]]
        rows, patch, at = rows[~hit], patch[~hit], at[~hit]
    return found


def _worth_keeping(
    parts: NDArray[np.int32],
    part_patch: NDArray[np.int64],
    part_of_row: NDArray[np.int64],
    grid: PixelGrid,
) -> NDArray[np.bool_]:
    """Return (k,) bool: parts large enough that hold a needle place, and the largest others."""
    area = np.bincount(parts.ravel(), minlength=len(part_patch)) * grid.pixel_mm**2
    has_rows = np.bincount(part_of_row, minlength=len(part_patch)) > 0
    largest = np.zeros(int(part_patch.max(initial=0)) + 1)
    np.maximum.at(largest, np.maximum(part_patch, 0), np.where(part_patch >= 0, area, 0.0))
    least = np.minimum(SLIVER_MM2, SLIVER_SHARE * largest[np.maximum(part_patch, 0)])
    is_large = (part_patch >= 0) & (area >= np.maximum(SMALLEST_MM2, least))
    lone = np.flatnonzero(is_large & ~has_rows)
    kept: NDArray[np.bool_] = is_large & has_rows
    kept[lone[np.argsort(-area[lone], kind="stable")[:MOST_LONE]]] = True
    return kept


def _fill_holes(parts: NDArray[np.int32], grid: PixelGrid) -> NDArray[np.int32]:
    """Return the parts with small holes given to the part at their left.

    The frame round the design is bare, so the first bare piece is the cloth all round it.
    """
    bare = np.asarray(label_alike(parts == 0, background=0, connectivity=1), dtype=np.int32)
    names, first, counts = np.unique(bare.ravel(), return_index=True, return_counts=True)
    is_hole = names > 1
    names, first, counts = names[is_hole], first[is_hole], counts[is_hole]
    small = counts * grid.pixel_mm**2 < SMALLEST_MM2
    small[np.argsort(-counts, kind="stable")[MOST_HOLES:]] = True
    fill = np.zeros(int(bare.max()) + 1, dtype=np.int32)
    fill[names[small]] = parts.ravel()[first[small] - 1]
    filled: NDArray[np.int32] = np.where(parts == 0, fill[bare], parts)
    return filled


def _outline(
    parts: NDArray[np.int32], grid: PixelGrid
) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Return the parts as polygons with shared edges, and the number of each."""
    corners, starts, _sides = trace_cracks(np.ascontiguousarray(parts), 0)
    if len(starts) < 2:
        return np.empty(0, dtype=object), np.empty(0, dtype=np.int64)
    xy = (corners - 0.5) * grid.pixel_mm + grid.origin
    arcs = shapely.linestrings(xy, indices=np.repeat(np.arange(len(starts) - 1), np.diff(starts)))
    faces = shapely.get_parts(shapely.polygonize(arcs))
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    numbers = parts.ravel()[grid.flat(inside)].astype(np.int64)
    faces, numbers = faces[numbers > 0], numbers[numbers > 0]
    simpler = shapely.coverage_simplify(faces, tolerance=SIMPLER_PIXELS * grid.pixel_mm)
    return np.asarray(simpler, dtype=object), numbers


def _areas_of_rows(
    patches: Sequence[Patch],
    part_of_row: NDArray[np.int64],
    area_of_part: NDArray[np.int64],
    areas: tuple[NDArray[np.object_], NDArray[np.int64]],
) -> NDArray[np.int64]:
    """Return the area of each row; rows that lie in none belong to the largest of their patch."""
    polygons, patch_of = areas
    largest = np.full(len(patches), -1, dtype=np.int64)
    rising = np.argsort(shapely.area(polygons), kind="stable")
    largest[patch_of[rising]] = rising
    found = area_of_part[part_of_row]
    for i, patch in enumerate(patches):
        mine = found[patch.rows]
        found[patch.rows] = np.where(mine < 0, largest[i], mine)
    return found
