"""The cleaned design as a flat picture in thread colours on the garment's colour.

In: the areas and a zoom. Out: sRGB pixels, edges smoothed by averaging finer samples.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB
    from firstpiece.model.region import RegionMap

SAMPLES = 4
"""Samples per pixel along each side: 16 shades of an edge, enough for the eye."""

_SHIFT = 6


def draw_cleaned(
    region_map: RegionMap, *, cloth_rgb: RGB, pixels_per_mm: float, margin_mm: float = 4.0
) -> NDArray[np.uint8]:
    """Return the design in flat thread colours.

    Parameters
    ----------
    region_map : RegionMap
    cloth_rgb : tuple of int
        Colour of the garment, seen round the design and through bare areas.
    pixels_per_mm : float [1/mm]
    margin_mm : float [mm]
        Cloth round the painted box.

    Returns
    -------
    (h, w, 3) uint8 [sRGB]
        Row 0 is the top.
    """
    width = region_map.width_mm + 2 * margin_mm
    height = region_map.height_mm + 2 * margin_mm
    n_cols, n_rows = (max(1, round(v * pixels_per_mm)) for v in (width, height))
    fine = np.empty((n_rows * SAMPLES, n_cols * SAMPLES, 3), dtype=np.uint8)
    fine[:] = cloth_rgb
    zoom = pixels_per_mm * SAMPLES
    for region in region_map.sewn_regions:
        rings = [
            _to_samples(ring, zoom, (width / 2, height / 2))
            for ring in (region.polygon.exterior, *region.polygon.interiors)
        ]
        cv2.fillPoly(fine, rings, region_map.thread_of(region).rgb, cv2.LINE_8, _SHIFT)
    pixels: NDArray[np.uint8] = cv2.resize(fine, (n_cols, n_rows), interpolation=cv2.INTER_AREA)
    return pixels


def _to_samples(
    ring: shapely.LinearRing, zoom: float, corner_mm: tuple[float, float]
) -> NDArray[np.int32]:
    """Return (n, 2) int32 fixed-point sample positions, x right, y down."""
    xy = np.asarray(ring.coords)[:-1, :2] * (1.0, -1.0) + corner_mm
    # A sample's centre lies half a sample inside it.
    fixed: NDArray[np.int32] = np.round((xy * zoom - 0.5) * (1 << _SHIFT)).astype(np.int32)
    return fixed
