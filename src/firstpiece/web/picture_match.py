"""Where in the picture that came the cleaned design lies, so that one can lie on the other.

Input: what was read and the areas made of it. Output: the painted box as shares of the picture's
width and height, or None when the two do not lie on each other well enough to be compared.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from scipy import ndimage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.region import RegionMap

Box = tuple[float, float, float, float]

LEAST_AGREEMENT = 0.93
"""Share of the box's pixels that are painted in both or in neither."""

CELLS = 240
FAINT = 48
CANVAS_SHARE = 0.98


def painted_box(artwork: Artwork, region_map: RegionMap) -> Box | None:
    """Return left, top, width and height of the painted box as shares of the picture.

    Notes
    -----
    The box is that of everything unlike the picture's rim. It is taken only when the cleaned areas,
    laid into it, cover the same places.
    """
    if artwork.pixels is not None:
        return _box_of_pixels(artwork.pixels, region_map)
    return _box_of_shapes(artwork, region_map)


def _box_of_pixels(pixels: NDArray[np.uint8], region_map: RegionMap) -> Box | None:
    painted = _unlike_rim(pixels)
    rows, cols = (np.flatnonzero(painted.mean(axis=k) > 0.001) for k in (1, 0))
    if not len(rows) or not len(cols):
        return None
    top, bottom, left, right = rows[0], rows[-1] + 1, cols[0], cols[-1] + 1
    inside = painted[top:bottom, left:right].astype(np.uint8)
    mask = _sewn_mask(region_map)
    shown = cv2.resize(inside, mask.shape[::-1], interpolation=cv2.INTER_AREA)
    # Paper inside the design may have become thread or cloth, so only outlines are compared.
    one, other = ndimage.binary_fill_holes(shown), ndimage.binary_fill_holes(mask)
    if float((one == other).mean()) < LEAST_AGREEMENT:
        return None
    height, width = painted.shape
    return (left / width, top / height, (right - left) / width, (bottom - top) / height)


def _unlike_rim(pixels: NDArray[np.uint8]) -> NDArray[np.bool_]:
    rgb = pixels[:, :, :3].astype(np.int16)
    rim = np.concatenate([rgb[0], rgb[-1], rgb[:, 0], rgb[:, -1]])
    unlike = np.abs(rgb - np.median(rim, axis=0)).max(axis=2) > FAINT
    if pixels.shape[2] == 4 and (pixels[:, :, 3] < 128).any():
        unlike = pixels[:, :, 3] >= 128
    # Single specks of noise are no paint.
    smooth = cv2.medianBlur(unlike.astype(np.uint8), 5)
    result: NDArray[np.bool_] = smooth > 0
    return result


def _box_of_shapes(artwork: Artwork, region_map: RegionMap) -> Box | None:
    canvas = artwork.width * artwork.height
    boxes = [s.area.bounds for s in artwork.shapes or () if s.area.area < CANVAS_SHARE * canvas]
    if not boxes:
        return None
    low, high = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
    width, height = high - low
    drawn, made = width / height, region_map.width_mm / region_map.height_mm
    if abs(drawn / made - 1.0) > 0.02:
        return None
    return (
        float(low[0] / artwork.width),
        float(low[1] / artwork.height),
        float(width / artwork.width),
        float(height / artwork.height),
    )


def _sewn_mask(region_map: RegionMap) -> NDArray[np.uint8]:
    scale = CELLS / max(region_map.width_mm, region_map.height_mm)
    shape = (
        max(2, round(region_map.height_mm * scale)),
        max(2, round(region_map.width_mm * scale)),
    )
    mask = np.zeros(shape, np.uint8)
    corner = np.array([-region_map.width_mm / 2, region_map.height_mm / 2])
    for region in region_map.sewn_regions:
        rings = [region.polygon.exterior, *region.polygon.interiors]
        points = [
            np.rint((np.asarray(r.coords)[:, :2] - corner) * (scale, -scale)).astype(np.int32)
            for r in rings
        ]
        cv2.fillPoly(mask, points, 1)
    return mask
