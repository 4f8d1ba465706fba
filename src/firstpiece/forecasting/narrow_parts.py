"""Parts of a shape narrower than a given width: too thin to draw, or gaps too thin to stay open.

Input: a mask on a raster. Output: the patches that an opening by a disc would remove.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.kernels.coverage import Grid


MOST_PIXELS = 6_000_000


@dataclass(frozen=True, slots=True)
class NarrowPart:
    """A narrow patch: its area [mm²], its width at the widest [mm], that place as (row, col)."""

    area_mm2: float
    width_mm: float
    row: int
    col: int


def narrow_parts(
    mask: NDArray[np.bool_], width_mm: float, grid: Grid, *, smallest_mm2: float
) -> list[NarrowPart]:
    """Return the patches of the mask in which no disc of this width fits, largest first.

    Parameters
    ----------
    mask : (h, w) bool
    width_mm : float [mm]
    grid : Grid
    smallest_mm2 : float [mm²]
        Smaller patches are the corners that any opening rounds off.

    Notes
    -----
    Morphological opening by distance maps (Serra 1982, Image Analysis and Mathematical Morphology):
    keep what lies within r of a centre that is r or more from the edge. Sharp to a pixel; a raster
    of more than 6 million (about 220 mm square) is searched at every other pixel.
    """
    if mask.size > MOST_PIXELS:
        half = grid._replace(pixel_mm=2 * grid.pixel_mm)
        coarse = np.ascontiguousarray(mask[::2, ::2])
        found = narrow_parts(coarse, width_mm, half, smallest_mm2=smallest_mm2)
        return [replace(part, row=2 * part.row, col=2 * part.col) for part in found]
    inner = _distance(mask)
    radius = width_mm / 2 / grid.pixel_mm
    # A strip n pixels wide has a largest distance of n/2 or (n + 1)/2 from outside pixel centres.
    seeds = inner >= radius + 0.25
    lost = mask & (_distance(~seeds) > radius + 1.0) if seeds.any() else mask
    count, patch_of, stats, _ = cv2.connectedComponentsWithStats(
        lost.astype(np.uint8), connectivity=8
    )
    smallest = smallest_mm2 / grid.pixel_mm**2
    parts = []
    for patch in range(1, count):
        left, top, width, height, n_pixels = (int(v) for v in stats[patch])
        if n_pixels < smallest:
            continue
        box = np.s_[top : top + height, left : left + width]
        depth = np.where(patch_of[box] == patch, inner[box], 0.0)
        row, col = np.unravel_index(int(depth.argmax()), depth.shape)
        parts.append(
            NarrowPart(
                n_pixels * grid.pixel_mm**2,
                (2.0 * float(depth.max()) - 0.5) * grid.pixel_mm,
                top + int(row),
                left + int(col),
            )
        )
    return sorted(parts, key=lambda part: (-part.area_mm2, part.row, part.col))


def _distance(mask: NDArray[np.bool_]) -> NDArray[np.float32]:
    distance: NDArray[np.float32] = cv2.distanceTransform(
        mask.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE
    )
    return distance


def inside_areas(labels: NDArray[np.int32], is_sewn: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return (h, w) bool: sewn pixels, with one pixel cut out wherever two areas meet."""
    sewn = is_sewn[labels]
    inside = sewn.copy()
    inside[:, :-1] &= ~(sewn[:, 1:] & (labels[:, 1:] != labels[:, :-1]))
    inside[:-1] &= ~(sewn[1:] & (labels[1:] != labels[:-1]))
    return inside
