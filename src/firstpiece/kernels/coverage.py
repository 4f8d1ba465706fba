"""How many threads lie over each pixel, and which pixels are closed by a thread's turn at a hole.

Input: thread pieces as straight ribbons in mm and a raster. Output: whole counts; no shading, no
thread physics. Row 0 is the top of the raster (largest y); a pixel is sampled at one point.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Grid(NamedTuple):
    """A raster over the plane.

    Pixel (row, col) has its centre at x = ``left_mm`` + (col + ½)·``pixel_mm`` and
    y = ``top_mm`` − (row + ½)·``pixel_mm``. ``scatter`` 0 samples it there. With ``scatter`` 1 each
    row is sampled at another place within its pixels, spread evenly over many rows, so that shares
    of area come out right even where the pixel divides the distance between threads.
    """

    left_mm: float
    top_mm: float
    pixel_mm: float
    n_rows: int
    n_cols: int
    scatter: float = 0.0


@njit(cache=True)
def sample_place(grid: Grid, row: int) -> tuple[float, float]:
    """Return the place in its pixels, right and down in 0 to 1, at which a row is sampled.

    Notes
    -----
    The additive recurrence on powers of the plastic number (Roberts 2018, The Unreasonable
    Effectiveness of Quasirandom Sequences), from memory.
    """
    right = (0.5 + 0.7548776662466927 * row) % 1.0
    down = (0.5 + 0.5698402909980532 * row) % 1.0
    return 0.5 + grid.scatter * (right - 0.5), 0.5 + grid.scatter * (down - 0.5)


@njit(cache=True)
def _narrow(low: float, high: float, slope: float, offset: float) -> tuple[float, float]:
    """Return the part of [low, high] where 0 <= slope·x + offset (empty: low > high)."""
    if abs(slope) < 1e-12:
        return (low, high) if offset >= 0.0 else (1.0, 0.0)
    root = -offset / slope
    if slope > 0.0:
        return max(low, root), high
    return low, min(high, root)


@njit(cache=True)
def _add_piece(
    layers: NDArray[np.uint16],
    ends: NDArray[np.float64],
    half: float,
    grid: Grid,
    window: tuple[int, int, int, int],
) -> None:
    """Add one to the pixels under a piece of thread, inside a window of the raster."""
    pixel = grid.pixel_mm
    x0, y0 = ends[0], ends[1]
    dx, dy = ends[2] - x0, ends[3] - y0
    length = math.hypot(dx, dy)
    if length < 1e-9:
        return
    ux, uy = dx / length, dy / length
    y_high = max(y0, y0 + dy) + half * abs(ux)
    y_low = min(y0, y0 + dy) - half * abs(ux)
    first = max(window[0], math.floor((grid.top_mm - y_high) / pixel))
    last = min(window[1] - 1, math.floor((grid.top_mm - y_low) / pixel))
    for row in range(first, last + 1):
        # In this row the four edges are linear in t = x - x0; keep the t inside all of them.
        right, down = sample_place(grid, row)
        rise = grid.top_mm - (row + down) * pixel - y0
        low, high = -1e18, 1e18
        low, high = _narrow(low, high, ux, uy * rise)
        low, high = _narrow(low, high, -ux, length - uy * rise)
        low, high = _narrow(low, high, -uy, half + ux * rise)
        low, high = _narrow(low, high, uy, half - ux * rise)
        if low > high:
            continue
        shift = x0 - grid.left_mm
        col_a = max(window[2], math.ceil((low + shift) / pixel - right))
        col_b = min(window[3] - 1, math.floor((high + shift) / pixel - right))
        for col in range(col_a, col_b + 1):
            if layers[row, col] < 65535:
                layers[row, col] += 1


@njit(cache=True)
def count_layers(
    segments_mm: NDArray[np.float64], half_width_mm: NDArray[np.float64], grid: Grid
) -> NDArray[np.uint16]:
    """Return the number of thread pieces that lie over each pixel's sampling point (its centre).

    Parameters
    ----------
    segments_mm : (m, 4) float64 [mm]
        Ends x0, y0, x1, y1 of each piece of thread.
    half_width_mm : (m,) float64 [mm]
        Half the laid width of each piece.
    grid : Grid
        The raster; pieces may lie partly or wholly outside.

    Returns
    -------
    (n_rows, n_cols) uint16
        Counts; they stop at 65535.

    Notes
    -----
    A piece is a rectangle with flat ends at its penetrations, so two pieces that run on in one
    direction add up to one layer and the counts times pixel area add up to the thread's area.
    Where a run turns, the outer wedge stays open here: `close_ends` fills it. A piece shorter than
    1e-9 mm covers nothing. A centre that lies exactly on an edge may count for both sides.
    """
    layers = np.zeros((grid.n_rows, grid.n_cols), dtype=np.uint16)
    window = (0, grid.n_rows, 0, grid.n_cols)
    for i in range(len(segments_mm)):
        _add_piece(layers, segments_mm[i], half_width_mm[i], grid, window)
    return layers


@njit(cache=True)
def recount_layers(
    layers: NDArray[np.uint16],
    segments_mm: NDArray[np.float64],
    half_width_mm: NDArray[np.float64],
    grid: Grid,
    window: tuple[int, int, int, int],
) -> None:
    """Count the layers of a window anew, as `count_layers` would (in place).

    Parameters
    ----------
    layers : (n_rows, n_cols) uint16
        Counts; those outside the window stay.
    segments_mm : (m, 4) float64 [mm]
        At least every piece that reaches into the window.
    half_width_mm : (m,) float64 [mm]
    grid : Grid
        The raster of ``layers``.
    window : (first row, row after the last, first column, column after the last)
    """
    layers[window[0] : window[1], window[2] : window[3]] = 0
    for i in range(len(segments_mm)):
        _add_piece(layers, segments_mm[i], half_width_mm[i], grid, window)


@njit(cache=True)
def close_ends(
    layers: NDArray[np.uint16],
    ends_mm: NDArray[np.float64],
    half_width_mm: NDArray[np.float64],
    grid: Grid,
) -> None:
    """Raise open pixels to one layer where a thread turns round its hole (in place).

    Parameters
    ----------
    layers : (n_rows, n_cols) uint16
        Counts of `count_layers`; only zeros change.
    ends_mm : (k, 2) float64 [mm]
        Penetrations; a half-disc of thread lies round each.
    half_width_mm : (k,) float64 [mm]
        Half the laid width of the thread there.
    grid : Grid
        The raster of ``layers``.
    """
    close_ends_in(layers, ends_mm, half_width_mm, grid, (0, grid.n_rows, 0, grid.n_cols))


@njit(cache=True)
def close_ends_in(
    layers: NDArray[np.uint16],
    ends_mm: NDArray[np.float64],
    half_width_mm: NDArray[np.float64],
    grid: Grid,
    window: tuple[int, int, int, int],
) -> None:
    """Do what `close_ends` does, inside a window alone (in place).

    Parameters
    ----------
    layers : (n_rows, n_cols) uint16
    ends_mm : (k, 2) float64 [mm]
        At least every penetration whose thread reaches into the window.
    half_width_mm : (k,) float64 [mm]
    grid : Grid
    window : (first row, row after the last, first column, column after the last)
    """
    pixel = grid.pixel_mm
    for i in range(len(ends_mm)):
        x, y, half = ends_mm[i, 0], ends_mm[i, 1], half_width_mm[i]
        first = max(window[0], math.floor((grid.top_mm - y - half) / pixel))
        last = min(window[1] - 1, math.floor((grid.top_mm - y + half) / pixel))
        for row in range(first, last + 1):
            right, down = sample_place(grid, row)
            rise = grid.top_mm - (row + down) * pixel - y
            if abs(rise) > half:
                continue
            reach = math.sqrt(half * half - rise * rise)
            col_a = max(window[2], math.ceil((x - reach - grid.left_mm) / pixel - right))
            col_b = min(window[3] - 1, math.floor((x + reach - grid.left_mm) / pixel - right))
            for col in range(col_a, col_b + 1):
                if layers[row, col] == 0:
                    layers[row, col] = 1
