"""Sewn thread as a photograph: thread and cloth lit from the upper left, in linear light.

In: laid thread (``thread_laying``), its colours, the cloth, where the picture lies. Out: sRGB
pixels. The picture is made tile by tile, so memory stays small at any size, and each sample is lit
once however many layers lie under it. The same stitches give the same pixels in any window.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

from firstpiece.kernels.relief_light import (
    HOLLOW_MM,
    REACH_MM,
    Ground,
    dim_tile,
    fill_cloth,
    light_cloth,
    smooth_heights,
)
from firstpiece.kernels.thread_laying import (
    Laid,
    Tile,
    clear_tile,
    lay_piece,
    new_tile,
    press_dimple,
)
from firstpiece.kernels.thread_sheen import light_thread

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Light above this share of white is eased, as film does.
SHOULDER = 0.75
TILE_SAMPLES = 160


class Canvas(NamedTuple):
    """The picture: outer upper left corner and pixel pitch [mm], size, samples along a pixel."""

    left_mm: float
    top_mm: float
    pixel_mm: float
    n_rows: int
    n_cols: int
    n_sub: int


@njit(cache=True, nogil=True)
def _light_pieces(
    tile: Tile,
    dim: NDArray[np.float32],
    laid: Laid,
    linear_rgb: NDArray[np.float64],
    seeds: NDArray[np.int64],
    light: NDArray[np.float32],
) -> None:
    """Write the linear colour of every thread sample."""
    which, across, along = tile.which, tile.across, tile.along
    ends, halves, arches = laid.ends_mm, laid.half_mm, laid.arch_mm
    n = which.shape[0]
    for row in range(n):
        for col in range(n):
            k = which[row, col]
            if k >= 0:
                axis = (ends[k, 2] - ends[k, 0], ends[k, 3] - ends[k, 1])
                at = (across[row, col], along[row, col])
                own, white = light_thread(axis, halves[k], arches[k], at, seeds[k])
                shine = 0.016 + 0.08 * _luminance(linear_rgb[k])
                own = (own + 0.20 * white) * dim[row, col]
                white = shine * white * dim[row, col]
                for c in range(3):
                    light[row, col, c] = linear_rgb[k, c] * own + white


@njit(cache=True, nogil=True)
def _ease(peak: float) -> float:
    """Return a brightness eased towards 1 above ``SHOULDER``."""
    if peak <= SHOULDER:
        return peak
    room = 1.0 - SHOULDER
    return SHOULDER + room * (1.0 - math.exp((SHOULDER - peak) / room))


@njit(cache=True, nogil=True)
def _luminance(rgb: NDArray[np.float64]) -> float:
    """Return the luminance of a linear colour (IEC 61966-2-1 primaries)."""
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]


@njit(cache=True, nogil=True)
def _encode(linear: float) -> int:
    """Return the sRGB code of a linear value (IEC 61966-2-1)."""
    v = min(1.0, max(0.0, linear))
    v = 12.92 * v if v <= 0.0031308 else 1.055 * v ** (1.0 / 2.4) - 0.055
    return int(v * 255.0 + 0.5)


@njit(cache=True, nogil=True)
def tile_lists(
    ends_mm: NDArray[np.float64], pad_mm: float, canvas: Canvas, pixels: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return which pieces may touch each tile of ``pixels`` by ``pixels``, in sewing order.

    Parameters
    ----------
    ends_mm : (m, 4) float64 [mm]
    pad_mm : float [mm]
        How far a piece reaches beyond the box of its ends.
    canvas : Canvas
    pixels : int

    Returns
    -------
    start : (tiles + 1,) int64
        Tile t owns ``piece[start[t]:start[t + 1]]``; tiles run row by row.
    piece : (hits,) int64
    """
    side = pixels * canvas.pixel_mm
    rows = (canvas.n_rows + pixels - 1) // pixels
    cols = (canvas.n_cols + pixels - 1) // pixels
    start = np.zeros(rows * cols + 1, np.int64)
    piece = np.empty(0, np.int64)
    for filling in (False, True):
        cursor = start[:-1].copy()
        for k in range(len(ends_mm)):
            x0, y0, x1, y1 = ends_mm[k]
            left = max(0, math.floor((min(x0, x1) - pad_mm - canvas.left_mm) / side))
            right = min(cols - 1, math.floor((max(x0, x1) + pad_mm - canvas.left_mm) / side))
            first = max(0, math.floor((canvas.top_mm - max(y0, y1) - pad_mm) / side))
            last = min(rows - 1, math.floor((canvas.top_mm - min(y0, y1) + pad_mm) / side))
            for row in range(first, last + 1):
                for col in range(left, right + 1):
                    if filling:
                        piece[cursor[row * cols + col]] = k
                        cursor[row * cols + col] += 1
                    else:
                        start[row * cols + col + 1] += 1
        if not filling:
            start = np.cumsum(start)
            piece = np.empty(start[-1], np.int64)
    return start, piece


@njit(cache=True, nogil=True)
def _print_tile(
    light: NDArray[np.float32], out: NDArray[np.uint8], row0: int, col0: int, inset: tuple[int, int]
) -> None:
    """Average a tile's samples into pixels; ``inset`` is the surround and the samples a side."""
    edge, n_sub = inset
    n = (light.shape[0] - 2 * edge) // n_sub
    share = 1.0 / (n_sub * n_sub)
    for row in range(min(n, out.shape[0] - row0)):
        for col in range(min(n, out.shape[1] - col0)):
            red, green, blue = 0.0, 0.0, 0.0
            for i in range(edge + row * n_sub, edge + (row + 1) * n_sub):
                for j in range(edge + col * n_sub, edge + (col + 1) * n_sub):
                    red += light[i, j, 0]
                    green += light[i, j, 1]
                    blue += light[i, j, 2]
            # Bright colours are eased below white as a whole, so that none jumps in hue; part of
            # what is lost comes back as white, as on film.
            peak = max(red, green, blue) * share
            eased = _ease(peak)
            gain = share * eased / peak if peak > 0.0 else 0.0
            haze = 0.14 * (peak - eased)
            out[row0 + row, col0 + col, 0] = _encode(red * gain + haze)
            out[row0 + row, col0 + col, 1] = _encode(green * gain + haze)
            out[row0 + row, col0 + col, 2] = _encode(blue * gain + haze)


@njit(cache=True, nogil=True)
def draw_thread_light(
    laid: Laid,
    linear_rgb: NDArray[np.float64],
    seeds: NDArray[np.int64],
    ground: Ground,
    canvas: Canvas,
) -> NDArray[np.uint8]:
    """Return the picture of laid thread on cloth.

    Parameters
    ----------
    laid : Laid
        The pieces in sewing order, each longer than zero.
    linear_rgb : (m, 3) float64
        Colour of each piece in linear light, 0 to 1.
    seeds : (m,) int64
        Numbers that vary ply and sheen from stitch to stitch.
    ground : Ground
    canvas : Canvas

    Returns
    -------
    (rows, cols, 3) uint8 [sRGB]
        Row 0 is the top.
    """
    out = np.empty((canvas.n_rows, canvas.n_cols, 3), np.uint8)
    step = canvas.pixel_mm / canvas.n_sub
    edge = int(REACH_MM / step) + 2
    pixels = max(1, TILE_SAMPLES // canvas.n_sub)
    tile = new_tile(pixels * canvas.n_sub + 2 * edge)
    dim = np.empty(tile.height.shape, np.float32)
    light = np.zeros((*tile.height.shape, 3), np.float32)
    start, piece = tile_lists(laid.ends_mm, REACH_MM + 0.5, canvas, pixels)
    cols = (canvas.n_cols + pixels - 1) // pixels
    for t in range(len(start) - 1):
        row0, col0 = (t // cols) * pixels, (t % cols) * pixels
        left = canvas.left_mm + col0 * canvas.pixel_mm - edge * step
        top = canvas.top_mm - row0 * canvas.pixel_mm + edge * step
        place = (left, top, step)
        clear_tile(tile)
        for k in piece[start[t] : start[t + 1]]:
            lay_piece(k, laid, tile, place)
            press_dimple(laid.ends_mm[k, 0], laid.ends_mm[k, 1], ground.dimple_mm, tile, place)
            press_dimple(laid.ends_mm[k, 2], laid.ends_mm[k, 3], ground.dimple_mm, tile, place)
        fill_cloth(tile, ground, place)
        smooth_heights(tile.height, dim, max(1, int(HOLLOW_MM / step)))
        dim_tile(tile.height, dim, step)
        light_cloth(tile, dim, ground, step, light)
        _light_pieces(tile, dim, laid, linear_rgb, seeds, light)
        _print_tile(light, out, row0, col0, (edge, canvas.n_sub))
    return out
