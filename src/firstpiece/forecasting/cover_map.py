"""The design as rasters: which area each pixel belongs to, how many threads lie over it.

Input: areas and laid thread. Output: labels and layer counts on one grid, and the layers as a map
for people. Pixels are never larger than a quarter of a 40 weight thread while memory allows.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.kernels.count_map import block_means, label_areas
from firstpiece.kernels.coverage import Grid, close_ends, count_layers
from firstpiece.model.forecast import ForecastMap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.forecasting.laid_thread import LaidThread

FINE_MM, COARSE_MM = 0.045, 0.09
FINE_PIXELS, MOST_PIXELS = 5_000_000, 12_000_000
MARGIN_MM = 1.5
SCATTER = 1.0
BLOCK = {FINE_MM: 4, COARSE_MM: 2}


def choose_grid(bounds_mm: tuple[float, float, float, float]) -> tuple[Grid, int]:
    """Return the raster for a box (x0, y0, x1, y1) and the side of one block of its printed map.

    Notes
    -----
    0.045 mm pixels up to 5 million (100 mm square), 0.09 mm up to 12 million (310 mm square),
    then as fine as 12 million allow: about 0.3 GB for all rasters of a forecast together.
    Rows are sampled scattered: a pixel that divides the distance of the threads would otherwise
    meet every thread at the same phase and read a gap of 0.05 mm as none or as a whole pixel.
    The grid hangs on the box, so a design moved whole gives the same counts.
    """
    x0, y0, x1, y1 = bounds_mm
    width, height = x1 - x0 + 2 * MARGIN_MM, y1 - y0 + 2 * MARGIN_MM
    pixel = FINE_MM if width * height / FINE_MM**2 <= FINE_PIXELS else COARSE_MM
    pixel = max(pixel, math.sqrt(width * height / MOST_PIXELS))
    block = BLOCK.get(pixel, 2)
    n_rows = math.ceil(height / pixel / block) * block
    n_cols = math.ceil(width / pixel / block) * block
    left = (x0 + x1) / 2 - n_cols * pixel / 2
    top = (y0 + y1) / 2 + n_rows * pixel / 2
    return Grid(left, top, pixel, n_rows, n_cols, SCATTER), block


def label_polygons(polygons: Sequence[shapely.Polygon], grid: Grid) -> NDArray[np.int32]:
    """Return (n_rows, n_cols) int32: the index of the polygon at each pixel's centre, else -1."""
    shapes = np.array(polygons, dtype=object)
    rings, area_of = shapely.get_rings(shapes, return_index=True)
    points, ring_of = shapely.get_coordinates(rings, return_index=True)
    start = np.searchsorted(ring_of, np.arange(len(rings) + 1)).astype(np.int64)
    labels: NDArray[np.int32] = label_areas(points, start, area_of.astype(np.int64), grid)
    return labels


def area_boxes(polygons: Sequence[shapely.Polygon], grid: Grid) -> NDArray[np.int64]:
    """Return (n, 4) int64: first row, end row, first column, end column that each area lies in."""
    x0, y0, x1, y1 = shapely.bounds(np.array(polygons, dtype=object)).reshape(-1, 4).T
    rows = (grid.top_mm - np.stack([y1, y0])) / grid.pixel_mm
    cols = (np.stack([x0, x1]) - grid.left_mm) / grid.pixel_mm
    sides = np.column_stack([
        np.clip(np.floor(rows[0]) - 2, 0, grid.n_rows),
        np.clip(np.ceil(rows[1]) + 2, 0, grid.n_rows),
        np.clip(np.floor(cols[0]) - 2, 0, grid.n_cols),
        np.clip(np.ceil(cols[1]) + 2, 0, grid.n_cols),
    ])  # fmt: skip
    return sides.astype(np.int64)


def layer_counts(
    laid: LaidThread, half_widths_mm: NDArray[np.float64], grid: Grid
) -> NDArray[np.uint16]:
    """Return (n_rows, n_cols) uint16 thread layers, with the turns at penetrations closed."""
    layers: NDArray[np.uint16] = count_layers(laid.segments_mm, half_widths_mm, grid)
    for ends in (laid.segments_mm[:, :2], laid.segments_mm[:, 2:]):
        close_ends(layers, np.ascontiguousarray(ends), half_widths_mm, grid)
    return layers


def printed_maps(
    layers: NDArray[np.uint16], grid: Grid, block: int
) -> tuple[ForecastMap, ForecastMap]:
    """Return mean layers and cover over blocks of pixels: fine enough to print, small to keep."""
    mean, share = block_means(layers, block)
    place = (grid.left_mm, grid.top_mm, grid.pixel_mm * block)
    return ForecastMap(mean, *place, "threads"), ForecastMap(share, *place, "")
