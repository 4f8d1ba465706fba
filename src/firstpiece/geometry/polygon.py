"""Polygons on rasters and their parts: masks of pixels inside, wide cores and thin limbs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Sub-pixel digits of the fill; 1/16 pixel is far below any thread.
_SHIFT = 4


def paint_polygon(
    area: shapely.Polygon | shapely.MultiPolygon,
    left_mm: float,
    top_mm: float,
    pixel_mm: float,
    shape: tuple[int, int],
) -> NDArray[np.uint8]:
    """Return 1 at the pixels inside an area, rims included; row 0 is the top (largest y).

    Parameters
    ----------
    area : shapely.Polygon or shapely.MultiPolygon
    left_mm, top_mm : float [mm]
        Outer corner of pixel (0, 0).
    pixel_mm : float [mm]
    shape : tuple of int
        Rows and columns.

    Returns
    -------
    (h, w) uint8
    """
    mask = np.zeros(shape, dtype=np.uint8)
    for part in shapely.get_parts(area):
        points = []
        for ring in (part.exterior, *part.interiors):
            xy = shapely.get_coordinates(ring)
            col = (xy[:, 0] - left_mm) / pixel_mm - 0.5
            row = (top_mm - xy[:, 1]) / pixel_mm - 0.5
            points.append(np.rint(np.column_stack([col, row]) * 2**_SHIFT).astype(np.int32))
        window = np.zeros(shape, dtype=np.uint8) if mask.any() else mask
        cv2.fillPoly(window, points, 1, shift=_SHIFT)
        if window is not mask:
            mask |= window
    return mask
