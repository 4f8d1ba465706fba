"""Thread laid on thread: how high each piece rests, and which piece is on top at each sample.

In: straight pieces of thread in mm, in sewing order. Out: rest heights, and for a square tile of
samples the piece on top with the place across it, along it and its height, plus needle dimples.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Heights in mm. A laid thread is about twice as wide as it is thick (the card's flattening); a
# layer adds less than a crown because the thread below is pressed into the cloth.
CROWN_MM = 0.15
LAYER_MM = 0.12
STACK_MM = 0.5
# The thread dives to its needle hole over the last quarter millimetre, and ends in a short cap.
DIP_MM, DIP_LENGTH_MM = 0.05, 0.24
CAP_MM, TAPER_MM = 0.10, 0.06
# A later thread takes the place where it is at most this much lower: it was pulled over.
OVER_MM = 0.06


class Laid(NamedTuple):
    """m pieces of thread in sewing order.

    ``ends_mm`` (m, 4) x0, y0, x1, y1; ``half_mm`` (m,) half width; ``arch_mm`` (m,) rise of the
    middle over the ends; ``rest_mm`` (m,) height of what it lies on; all float64 [mm].
    """

    ends_mm: NDArray[np.float64]
    half_mm: NDArray[np.float64]
    arch_mm: NDArray[np.float64]
    rest_mm: NDArray[np.float64]


class Tile(NamedTuple):
    """Square sample buffers (s, s): piece on top (-1 cloth), across -1..1, along, height, dent."""

    which: NDArray[np.int32]
    across: NDArray[np.float32]
    along: NDArray[np.float32]
    height: NDArray[np.float32]
    dent: NDArray[np.float32]


@njit(cache=True, nogil=True)
def rest_heights(
    ends_mm: NDArray[np.float64],
    half_mm: NDArray[np.float64],
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    top: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the height that each piece of thread rests at, given the pieces laid before it.

    Parameters
    ----------
    ends_mm : (m, 4) float64 [mm]
        x0, y0, x1, y1 of each piece, in sewing order.
    half_mm : (m,) float64 [mm]
    left_mm, bottom_mm, cell_mm : float [mm]
        Lower left corner and pitch of the height grid.
    top : (rows, cols) float64 [mm]
        The height grid, row 0 lowest; raised in place.

    Returns
    -------
    (m,) float64 [mm]
        Mean height met along the middle three fifths of the piece.

    Notes
    -----
    A layer adds ``LAYER_MM·exp(-h/STACK_MM)``: lower threads are pressed flat and into the cloth.
    """
    rest = np.zeros(len(ends_mm))
    n_rows, n_cols = top.shape
    for k in range(len(ends_mm)):
        x0, y0, x1, y1 = ends_mm[k]
        length = math.hypot(x1 - x0, y1 - y0)
        n = int(length / cell_mm) + 2
        met, count = 0.0, 0
        for s in range(n):
            f = 0.2 + 0.6 * s / (n - 1)
            row = int((y0 + f * (y1 - y0) - bottom_mm) / cell_mm)
            col = int((x0 + f * (x1 - x0) - left_mm) / cell_mm)
            if 0 <= row < n_rows and 0 <= col < n_cols:
                met += top[row, col]
                count += 1
        rest[k] = met / count if count else 0.0
        raised = rest[k] + LAYER_MM * math.exp(-rest[k] / STACK_MM)
        nx, ny = (y0 - y1, x1 - x0) if length > 0.0 else (0.0, 0.0)
        scale = 0.6 * half_mm[k] / length if length > 0.0 else 0.0
        for s in range(n):
            f = s / (n - 1)
            for side in range(-1, 2):
                x = x0 + f * (x1 - x0) + side * scale * nx
                y = y0 + f * (y1 - y0) + side * scale * ny
                row, col = int((y - bottom_mm) / cell_mm), int((x - left_mm) / cell_mm)
                if 0 <= row < n_rows and 0 <= col < n_cols:
                    top[row, col] = max(top[row, col], raised)
    return rest


@njit(cache=True, nogil=True)
def piece_height(along: float, length: float, arch: float) -> float:
    """Return the height of a piece's axis over its rest height [mm]: arch less the end dips."""
    t = 2.0 * along / length - 1.0
    height = arch * (1.0 - t * t)
    q = min(along, length - along)
    if q < DIP_LENGTH_MM:
        f = 1.0 - max(q, 0.0) / DIP_LENGTH_MM
        height -= DIP_MM * f * f
    return height


@njit(cache=True, nogil=True)
def _row_span(dy: float, tx: float, ty: float, half: float, length: float) -> tuple[float, float]:
    """Return where a sample row enters and leaves a piece's strip, as x from its first end."""
    low, high = -1e9, 1e9
    if abs(ty) > 1e-9:
        a, b = (dy * tx - half) / ty, (dy * tx + half) / ty
        low, high = max(low, min(a, b)), min(high, max(a, b))
    elif abs(dy * tx) > half:
        return 1.0, 0.0
    if abs(tx) > 1e-9:
        a, b = (-CAP_MM - dy * ty) / tx, (length + CAP_MM - dy * ty) / tx
        low, high = max(low, min(a, b)), min(high, max(a, b))
    elif not -CAP_MM <= dy * ty <= length + CAP_MM:
        return 1.0, 0.0
    return low, high


@njit(cache=True, nogil=True)
def lay_piece(k: int, laid: Laid, tile: Tile, place: tuple[float, float, float]) -> None:
    """Lay piece ``k`` into a tile; ``place`` is the tile's outer left and top and the step [mm].

    Samples sit at the middle of their ``step_mm`` squares. A sample takes the piece when its
    surface is higher there than what lies there already, less ``OVER_MM``.
    """
    left_mm, top_mm, step_mm = place
    which, across, lengthwise, height = tile.which, tile.across, tile.along, tile.height
    x0, y0, x1, y1 = laid.ends_mm[k]
    half, arch, rest = laid.half_mm[k], laid.arch_mm[k], laid.rest_mm[k]
    length = math.hypot(x1 - x0, y1 - y0)
    tx, ty = (x1 - x0) / length, (y1 - y0) / length
    n = which.shape[0]
    pad = half + CAP_MM
    first = max(0, math.ceil((top_mm - max(y0, y1) - pad) / step_mm - 0.5))
    last = min(n - 1, math.floor((top_mm - min(y0, y1) + pad) / step_mm - 0.5))
    for row in range(first, last + 1):
        dy = top_mm - (row + 0.5) * step_mm - y0
        low, high = _row_span(dy, tx, ty, half, length)
        left = max(0, math.ceil((x0 + low - left_mm) / step_mm - 0.5))
        right = min(n - 1, math.floor((x0 + high - left_mm) / step_mm - 0.5))
        for col in range(left, right + 1):
            dx = left_mm + (col + 0.5) * step_mm - x0
            u, v = dy * tx - dx * ty, dx * tx + dy * ty
            q = min(v, length - v)
            wide = half
            if q < TAPER_MM:
                f = (TAPER_MM - q) / (TAPER_MM + CAP_MM)
                wide = half * math.sqrt(max(0.0, 1.0 - f * f))
            if abs(u) >= wide:
                continue
            share = u / wide
            z = rest + piece_height(v, length, arch) + CROWN_MM * math.sqrt(1.0 - share * share)
            if z > height[row, col] - OVER_MM:
                which[row, col] = k
                across[row, col] = share
                lengthwise[row, col] = v
                height[row, col] = z


@njit(cache=True, nogil=True)
def press_dimple(
    x_mm: float, y_mm: float, radius_mm: float, tile: Tile, place: tuple[float, float, float]
) -> None:
    """Deepen the tile's dent (0 none, 1 the hole) round one penetration.

    ``place`` is the tile's outer left, outer top and sample step [mm].
    """
    left_mm, top_mm, step_mm = place
    dent = tile.dent
    n = dent.shape[0]
    first = max(0, int((top_mm - y_mm - radius_mm) / step_mm))
    last = min(n - 1, int((top_mm - y_mm + radius_mm) / step_mm))
    left = max(0, int((x_mm - radius_mm - left_mm) / step_mm))
    right = min(n - 1, int((x_mm + radius_mm - left_mm) / step_mm))
    for row in range(first, last + 1):
        dy = top_mm - (row + 0.5) * step_mm - y_mm
        for col in range(left, right + 1):
            dx = left_mm + (col + 0.5) * step_mm - x_mm
            f = 1.0 - (dx * dx + dy * dy) / (radius_mm * radius_mm)
            if f > 0.0:
                dent[row, col] = max(dent[row, col], f * f)


@njit(cache=True, nogil=True)
def new_tile(n: int) -> Tile:
    """Return empty buffers for a tile of ``n`` by ``n`` samples."""
    return Tile(
        np.empty((n, n), np.int32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
    )


@njit(cache=True, nogil=True)
def clear_tile(tile: Tile) -> None:
    """Make a tile bare."""
    tile.which[:] = -1
    tile.height[:] = -1e3
    tile.dent[:] = 0.0
