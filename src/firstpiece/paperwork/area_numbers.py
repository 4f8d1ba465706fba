"""The cleaned design pale, with every area's outline and number: what a person edits by.

Input: a design and a font for the figures. Output: a picture.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.lettering.set_text import set_text
from firstpiece.paperwork.cleaned_picture import draw_cleaned

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB
    from firstpiece.model.region import Region, RegionMap

PALE = 0.45
"""Share of white laid over the colours, so that figures and outlines stand out."""

INK = (38, 34, 30)
TALLEST_MM, SMALLEST_MM = 3.2, 1.2
FIGURE_SHARE = 0.5
"""Height of a number as a share of the largest circle inside its area."""

_SHIFT = 4


def draw_area_numbers(
    region_map: RegionMap, *, font: bytes, cloth_rgb: RGB, pixels_per_mm: float, margin_mm: float
) -> NDArray[np.uint8]:
    """Return the numbered areas.

    Parameters
    ----------
    region_map : RegionMap
    font : bytes
        A font file for the figures.
    cloth_rgb : tuple of int
    pixels_per_mm : float [1/mm]
    margin_mm : float [mm]

    Returns
    -------
    (h, w, 3) uint8
        Row 0 is the top. Numbers of areas too small for them stand beside, with a line.
    """
    flat = draw_cleaned(
        region_map, cloth_rgb=cloth_rgb, pixels_per_mm=pixels_per_mm, margin_mm=margin_mm
    )
    picture = np.ascontiguousarray(np.rint(flat * (1.0 - PALE) + 255.0 * PALE).astype(np.uint8))
    middle = np.array([picture.shape[1], picture.shape[0]]) / 2.0

    def pixels(xy_mm: NDArray[np.float64]) -> NDArray[np.int32]:
        flipped = xy_mm * [pixels_per_mm, -pixels_per_mm] + middle
        return np.rint((flipped - 0.5) * (1 << _SHIFT)).astype(np.int32)

    def draw(rings: list[NDArray[np.float64]], color: RGB, width: int, *, closed: bool) -> None:
        points = [pixels(ring) for ring in rings]
        cv2.polylines(picture, points, closed, color, width, cv2.LINE_AA, _SHIFT)

    for region in region_map.regions:
        draw(_rings(region.polygon), INK, 1, closed=True)
    halo = max(2, round(0.5 * pixels_per_mm))
    for region in region_map.regions:
        figures, line = _figures(region, font)
        if line is not None:
            draw([line], INK, 1, closed=False)
        for shape in figures:
            draw(_rings(shape), (255, 255, 255), halo, closed=True)
        for shape in figures:
            points = [pixels(ring) for ring in _rings(shape)]
            cv2.fillPoly(picture, points, INK, cv2.LINE_AA, _SHIFT)
    return picture


def _rings(shape: shapely.Polygon) -> list[NDArray[np.float64]]:
    return [shapely.get_coordinates(ring) for ring in (shape.exterior, *shape.interiors)]


def _figures(
    region: Region, font: bytes
) -> tuple[list[shapely.Polygon], NDArray[np.float64] | None]:
    """Return a number's outlines where they stand, and the line to a small area, or None."""
    spoke = shapely.maximum_inscribed_circle(region.polygon, tolerance=0.05)
    middle = shapely.get_coordinates(spoke)[0]
    width = 2.0 * float(spoke.length)
    text = str(region.id)
    # Figures are about 0.8 as wide as they are high; the whole number must fit in the circle.
    wanted = FIGURE_SHARE * width / max(1.0, 0.55 * len(text))
    size = min(TALLEST_MM, max(SMALLEST_MM, wanted))
    line = None
    place = middle
    if wanted < SMALLEST_MM:
        place = middle + np.array([1.0, 1.0]) * (0.5 * width + 0.9 * size)
        line = np.array([middle, place - 0.35 * size])
    shapes = set_text(text, font, cap_height_mm=size).areas_mm
    x0, y0, x1, y1 = shapely.total_bounds(list(shapes))
    shift = place - np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    return [shapely.transform(s, lambda xy: xy + shift) for s in shapes], line
