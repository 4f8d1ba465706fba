"""Pucker drawn into a sew-out picture: waves running out from the areas that draw hardest.

Input: pixels, their window, areas with how hard each draws. Output: pixels with light and shade of
ripples. An illustration of a ranking: neither the number of waves nor their height is known.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

# Our own picture of a pucker: waves this long round an area, dying out over this distance.
WAVE_MM, REACH_MM = 11.0, 9.0
INSIDE_MM = 3.0
CELL_MM = 0.5
DEEPEST, ROUNDED_MM = 0.24, 1.0
LIGHT = (-0.6, 0.8)


def shade_pucker(
    pixels: NDArray[np.uint8],
    window_mm: tuple[float, float, float, float],
    areas: Sequence[tuple[shapely.Polygon, float]],
) -> NDArray[np.uint8]:
    """Return the picture with pucker shaded in.

    Parameters
    ----------
    pixels : (h, w, 3) uint8 [sRGB]
        Row 0 is the top.
    window_mm : tuple of float [mm]
        Left, bottom, width and height of what it shows.
    areas : sequence of (polygon, float)
        Outlines and how hard each draws, from 0 to 1.

    Returns
    -------
    (h, w, 3) uint8 [sRGB]
    """
    left, bottom, width, height = window_mm
    cols, rows = max(2, math.ceil(width / CELL_MM)), max(2, math.ceil(height / CELL_MM))
    x = left + (np.arange(cols) + 0.5) * width / cols
    y = bottom + height - (np.arange(rows) + 0.5) * height / rows
    places = np.asarray(shapely.points(*np.meshgrid(x, y)))
    relief = np.zeros((rows, cols))
    for polygon, strength in areas:
        if strength > 0.0 and not polygon.is_empty:
            relief += strength * _ripples(polygon, places)
    # Where waves of two edges meet there is a step, which cloth would round off.
    relief = cv2.GaussianBlur(relief, (0, 0), ROUNDED_MM / CELL_MM)
    down, right = np.gradient(relief, height / rows, width / cols)
    slope = LIGHT[0] * right - LIGHT[1] * down
    if not slope.any():
        return pixels.copy()
    steep = float(np.percentile(np.abs(slope[slope != 0.0]), 99.0))
    shade = (1.0 + DEEPEST * np.clip(slope / max(steep, 1e-12), -1.0, 1.0)).astype(np.float32)
    size = (pixels.shape[1], pixels.shape[0])
    full = cv2.resize(shade, size, interpolation=cv2.INTER_CUBIC)
    shaded: NDArray[np.uint8] = np.clip(np.rint(pixels * full[:, :, None]), 0, 255).astype(np.uint8)
    return shaded


def _ripples(polygon: shapely.Polygon, places: NDArray[np.object_]) -> NDArray[np.float64]:
    """Return waves round an outline whose crests run away from it, (h, w) float64."""
    edge = polygon.exterior
    shapely.prepare(polygon)
    away = shapely.distance(edge, places)
    inside = shapely.contains(polygon, places)
    near = away < np.where(inside, 3.0 * INSIDE_MM, 3.0 * REACH_MM)
    along = np.zeros(places.shape)
    along[near] = shapely.line_locate_point(edge, places[near])
    waves = max(3, round(edge.length / WAVE_MM))
    fade = np.exp(-away / np.where(inside, INSIDE_MM, REACH_MM)) * near
    # Just at the stitches the cloth is held flat.
    fade *= np.clip(away / 1.5, 0.0, 1.0)
    ripples: NDArray[np.float64] = fade * np.cos(2.0 * math.pi * waves * along / edge.length)
    return ripples
