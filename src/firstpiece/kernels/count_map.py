"""Which area each pixel belongs to, and per area how much of it lies under how many threads.

Input: polygon rings and rasters of one grid. Output: a label raster and small tables per area.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from firstpiece.kernels.coverage import sample_place

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.kernels.coverage import Grid

OUTSIDE = -1


@njit(cache=True)
def _toggle_ring(
    parity: NDArray[np.uint8], ring_mm: NDArray[np.float64], grid: Grid, first_row: int
) -> None:
    """Flip the parity of the first pixel right of the ring in each row it crosses."""
    for k in range(len(ring_mm) - 1):
        x0, y0, x1, y1 = ring_mm[k, 0], ring_mm[k, 1], ring_mm[k + 1, 0], ring_mm[k + 1, 1]
        y_low, y_high = min(y0, y1), max(y0, y1)
        # Rows with y_low <= y < y_high: a vertex on a sampled line is counted once.
        first = max(first_row, math.floor((grid.top_mm - y_high) / grid.pixel_mm))
        last = math.floor((grid.top_mm - y_low) / grid.pixel_mm)
        last = min(first_row + parity.shape[0] - 1, last)
        for row in range(first, last + 1):
            right, down = sample_place(grid, row)
            y = grid.top_mm - (row + down) * grid.pixel_mm
            if y >= y_high or y < y_low:
                continue
            x = x0 + (y - y0) * (x1 - x0) / (y1 - y0)
            col = math.ceil((x - grid.left_mm) / grid.pixel_mm - right)
            if col < grid.n_cols:
                parity[row - first_row, max(0, col)] ^= 1


@njit(cache=True)
def label_areas(
    points_mm: NDArray[np.float64],
    ring_start: NDArray[np.int64],
    ring_area: NDArray[np.int64],
    grid: Grid,
) -> NDArray[np.int32]:
    """Return the area each pixel's sampling point lies in, or -1.

    Parameters
    ----------
    points_mm : (n, 2) float64 [mm]
        The points of all rings, each closed (last point = first).
    ring_start : (r + 1,) int64
        Ring i is ``points_mm[ring_start[i]:ring_start[i + 1]]``.
    ring_area : (r,) int64
        The area a ring bounds; rings of one area stand together, holes need no mark.
    grid : Grid
        The raster.

    Returns
    -------
    (n_rows, n_cols) int32
        Where areas overlap, the later one.

    Notes
    -----
    Even-odd rule along the sampled rows; an area costs time by the rows of its own box.
    """
    labels = np.full((grid.n_rows, grid.n_cols), OUTSIDE, dtype=np.int32)
    n_rings = len(ring_area)
    ring = 0
    while ring < n_rings:
        end = ring
        y_low, y_high = math.inf, -math.inf
        while end < n_rings and ring_area[end] == ring_area[ring]:
            for k in range(ring_start[end], ring_start[end + 1]):
                y_low, y_high = min(y_low, points_mm[k, 1]), max(y_high, points_mm[k, 1])
            end += 1
        first = max(0, math.floor((grid.top_mm - y_high) / grid.pixel_mm))
        last = min(grid.n_rows - 1, math.ceil((grid.top_mm - y_low) / grid.pixel_mm))
        if first <= last:
            parity = np.zeros((last - first + 1, grid.n_cols), dtype=np.uint8)
            for i in range(ring, end):
                _toggle_ring(parity, points_mm[ring_start[i] : ring_start[i + 1]], grid, first)
            for row in range(first, last + 1):
                inside = 0
                for col in range(grid.n_cols):
                    inside ^= parity[row - first, col]
                    if inside:
                        labels[row, col] = ring_area[ring]
        ring = end
    return labels


@njit(cache=True)
def tally_layers(
    labels: NDArray[np.int32], layers: NDArray[np.uint16], n_areas: int, n_kinds: int
) -> NDArray[np.int64]:
    """Return how many pixels of each area lie under 0, 1, 2, … threads.

    Parameters
    ----------
    labels : (h, w) int32
        Area of each pixel, -1 for none.
    layers : (h, w) uint16
        Thread layers over each pixel.
    n_areas, n_kinds : int
        Size of the table; ``n_kinds - 1`` layers and more share the last column.

    Returns
    -------
    (n_areas, n_kinds) int64
    """
    table = np.zeros((n_areas, n_kinds), dtype=np.int64)
    for row in range(labels.shape[0]):
        for col in range(labels.shape[1]):
            area = labels[row, col]
            if area >= 0:
                table[area, min(int(layers[row, col]), n_kinds - 1)] += 1
    return table


@njit(cache=True)
def tally_gaps(
    labels: NDArray[np.int32], distance: NDArray[np.float32], n_areas: int
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return per area the sum of a distance map and the place of its largest value.

    Parameters
    ----------
    labels : (h, w) int32
        Area of each pixel, -1 for none.
    distance : (h, w) float32
        Zero where thread lies, else the distance to the nearest thread or edge.
    n_areas : int

    Returns
    -------
    total : (n_areas,) float64
        Sum over the area's pixels.
    place : (n_areas, 2) int64
        Row and column of the first largest pixel; -1 where all are zero.
    """
    total = np.zeros(n_areas)
    widest = np.zeros(n_areas)
    place = np.full((n_areas, 2), -1, dtype=np.int64)
    for row in range(labels.shape[0]):
        for col in range(labels.shape[1]):
            area, here = labels[row, col], distance[row, col]
            if area >= 0 and here > 0.0:
                total[area] += here
                if here > widest[area]:
                    widest[area] = here
                    place[area, 0], place[area, 1] = row, col
    return total, place


@njit(cache=True)
def block_means(
    layers: NDArray[np.uint16], block: int
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return mean layers over square blocks of pixels, and the share of each block under thread.

    Parameters
    ----------
    layers : (h, w) uint16
    block : int
        Pixels along a block's side; rows and columns that fill no block are left out.

    Returns
    -------
    mean, share : (h // block, w // block) float32
    """
    rows, cols = layers.shape[0] // block, layers.shape[1] // block
    total = np.zeros((rows, cols), dtype=np.float32)
    under = np.zeros((rows, cols), dtype=np.float32)
    for row in range(rows * block):
        into = row // block
        for col in range(cols):
            for k in range(col * block, (col + 1) * block):
                here = layers[row, k]
                if here > 0:
                    total[into, col] += here
                    under[into, col] += 1.0
    scale = np.float32(1.0 / block**2)
    return total * scale, under * scale
