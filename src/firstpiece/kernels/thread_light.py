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

from firstpiece.kernels.cloth_texture import cloth_height, hash_unit
from firstpiece.kernels.thread_laying import (
    CROWN_MM,
    DIP_LENGTH_MM,
    DIP_MM,
    Laid,
    Tile,
    lay_piece,
    press_dimple,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Unit vector to the light: from the upper left, 48 degrees above the cloth.
LIGHT_X, LIGHT_Y, LIGHT_Z = -0.4732, 0.4732, 0.7431
LIGHT_TAN = 1.1105
# How far a shadow or a hollow is felt, and so how much surround a tile needs [mm].
REACH_MM = 0.55
HOLLOW_MM = 0.22
TILE_SAMPLES = 160
# Two plies twisted together: length of one ply's crossing, and the lean of its fibres.
PLY_MM, PLY_LEAN = 0.80, 0.24
FILAMENTS = 7.0


class Ground(NamedTuple):
    """The cloth: weave code, coarseness, depth of relief, its look, linear colour, dimple radius.

    ``relief_mm`` is the height of the yarn crowns; ``mean_light`` what a cloth sample gets on
    average before it is levelled to its colour.
    """

    weave: int
    coarseness: float
    relief_mm: float
    mean_light: float
    red: float
    green: float
    blue: float
    dimple_mm: float


class Canvas(NamedTuple):
    """The picture: outer upper left corner and pixel pitch [mm], size, samples along a pixel."""

    left_mm: float
    top_mm: float
    pixel_mm: float
    n_rows: int
    n_cols: int
    n_sub: int


@njit(cache=True, nogil=True)
def light_thread(k: int, across: float, along: float, laid: Laid, seed: int) -> tuple[float, float]:
    """Return how much of its own colour and how much white a thread sample sends to the eye.

    Parameters
    ----------
    k : int
        The piece.
    across : float
        -1 at its right edge to 1 at its left edge, seen along the piece.
    along : float [mm]
        From its first end.
    laid : Laid
    seed : int
        Decides ply phase and filaments.

    Notes
    -----
    Fibre sheen after Kajiya & Kay 1989 (from memory): a fibre mirrors light into a cone about its
    tangent, so the highlight is strongest where the angles of light and eye to the tangent agree.
    The tangent leans with the ply and with the arch of the stitch; the eye is straight above.
    """
    x0, y0, x1, y1 = laid.ends_mm[k]
    length = math.hypot(x1 - x0, y1 - y0)
    tx, ty = (x1 - x0) / length, (y1 - y0) / length
    slope = -4.0 * laid.arch_mm[k] * (2.0 * along / length - 1.0) / length
    q = min(along, length - along)
    if q < DIP_LENGTH_MM:
        dive = 2.0 * DIP_MM * (1.0 - max(q, 0.0) / DIP_LENGTH_MM) / DIP_LENGTH_MM
        slope += dive if along < length - along else -dive
    round_ = math.sqrt(1.0 - across * across)
    side = CROWN_MM / laid.half_mm[k] * across / max(round_, 0.3)
    # Normal of the surface: across is (-ty, tx), along is (tx, ty).
    norm = 1.0 / math.sqrt(1.0 + side * side + slope * slope)
    facing = (
        (-side * ty - slope * tx) * LIGHT_X + (side * tx - slope * ty) * LIGHT_Y + LIGHT_Z
    ) * norm
    ply = along / PLY_MM + 0.38 * across + hash_unit(seed, 0, 3)
    ply -= math.floor(ply)
    groove = 1.0 - 4.0 * ply * (1.0 - ply)
    filament = math.floor((across + 1.0 + 1.6 * along / PLY_MM) * FILAMENTS)
    fleck = hash_unit(seed, filament, 4) - 0.5
    lean = PLY_LEAN * (0.5 + 0.5 * (1.0 - groove)) + 0.22 * fleck
    fx, fy, fz = tx - lean * ty, ty + lean * tx, slope + 0.10 * fleck
    fibre = 1.0 / math.sqrt(fx * fx + fy * fy + fz * fz)
    to_light = (fx * LIGHT_X + fy * LIGHT_Y + fz * LIGHT_Z) * fibre
    to_eye = fz * fibre
    mirror = math.sqrt(1.0 - to_light * to_light) * math.sqrt(1.0 - to_eye * to_eye)
    mirror = max(0.0, mirror - to_light * to_eye)
    broad = mirror * mirror * mirror * mirror
    sharp = broad * broad * broad
    lit = max(0.0, facing)
    own = (0.34 + 0.52 * lit + 0.62 * broad * lit * lit) * (1.0 - 0.17 * groove * groove)
    own *= 0.72 + 0.28 * round_
    own *= 1.0 + 0.10 * fleck + 0.10 * (hash_unit(seed, 1, 5) - 0.5)
    return own, 0.5 * sharp * lit * lit * round_


@njit(cache=True, nogil=True)
def _smooth_heights(source: NDArray[np.float32], out: NDArray[np.float32], reach: int) -> None:
    """Write the mean of ``source`` over a square of ``2·reach + 1`` samples, edges repeated."""
    n = source.shape[0]
    share = 1.0 / (2 * reach + 1)
    line = np.empty(n)
    for row in range(n):
        total = 0.0
        for col in range(-reach, reach + 1):
            total += source[row, min(max(col, 0), n - 1)]
        for col in range(n):
            out[row, col] = total * share
            total += source[row, min(col + reach + 1, n - 1)] - source[row, max(col - reach, 0)]
    for col in range(n):
        for row in range(n):
            line[row] = out[row, col]
        total = 0.0
        for row in range(-reach, reach + 1):
            total += line[min(max(row, 0), n - 1)]
        for row in range(n):
            out[row, col] = total * share
            total += line[min(row + reach + 1, n - 1)] - line[max(row - reach, 0)]


@njit(cache=True, nogil=True)
def _shadow(height: NDArray[np.float32], row: int, col: int, step_mm: float) -> float:
    """Return how far a sample lies in shadow, 0 to 1, looking towards the light in five steps."""
    worst = -1.0
    here = height[row, col]
    for far in (0.08, 0.15, 0.24, 0.35, 0.48):
        shift = round(0.7071 * far / step_mm)
        rise = height[row - shift, col - shift] - here - far * LIGHT_TAN
        worst = max(worst, rise / (0.05 + 0.25 * far))
    return min(1.0, max(0.0, worst + 0.2))


@njit(cache=True, nogil=True)
def _hollow_light(hollow_mm: float) -> float:
    """Return the share of sky light left in a hollow this deep (negative: on a crown)."""
    return min(1.12, 1.0 / max(0.4, 1.0 + 3.2 * hollow_mm))


@njit(cache=True, nogil=True)
def _fill_cloth(tile: Tile, ground: Ground, place: tuple[float, float, float]) -> None:
    """Write the cloth's height where no thread lies."""
    left_mm, top_mm, step_mm = place
    n = tile.which.shape[0]
    for row in range(n):
        y = top_mm - (row + 0.5) * step_mm
        for col in range(n):
            if tile.which[row, col] < 0:
                x = left_mm + (col + 0.5) * step_mm
                relief = cloth_height(ground.weave, x, y, ground.coarseness) - 1.0
                tile.height[row, col] = ground.relief_mm * relief - 0.16 * tile.dent[row, col]


@njit(cache=True, nogil=True)
def _light_cloth(tile: Tile, row: int, col: int, step_mm: float) -> float:
    """Return what a cloth sample sends to the eye by its slope alone."""
    here = tile.height[row, col]
    west = tile.height[row, col - 1] if tile.which[row, col - 1] < 0 else here
    east = tile.height[row, col + 1] if tile.which[row, col + 1] < 0 else here
    north = tile.height[row - 1, col] if tile.which[row - 1, col] < 0 else here
    south = tile.height[row + 1, col] if tile.which[row + 1, col] < 0 else here
    gx, gy = (east - west) / (2.0 * step_mm), (north - south) / (2.0 * step_mm)
    facing = (LIGHT_Z - gx * LIGHT_X - gy * LIGHT_Y) / math.sqrt(1.0 + gx * gx + gy * gy)
    return 0.42 + 0.58 * max(0.0, facing) / LIGHT_Z


@njit(cache=True, nogil=True)
def _cloth_share(
    tile: Tile, blur: NDArray[np.float32], row: int, col: int, step_mm: float
) -> float:
    """Return the light of a cloth sample with hollows, thread shadows and needle dimples."""
    hollow = blur[row, col] - tile.height[row, col]
    light = _light_cloth(tile, row, col, step_mm) * _hollow_light(hollow)
    light *= 1.0 - 0.55 * _shadow(tile.height, row, col, step_mm)
    return light * (1.0 - 0.45 * tile.dent[row, col])


@njit(cache=True, nogil=True)
def mean_cloth_light(ground: Ground, step_mm: float, n: int) -> float:
    """Return the mean light of ``n`` by ``n`` samples of bare cloth, to level its colour by."""
    tile = _new_tile(n)
    blur = np.empty((n, n), np.float32)
    _clear(tile)
    _fill_cloth(tile, ground, (0.0, 0.0, step_mm))
    _smooth_heights(tile.height, blur, max(1, int(HOLLOW_MM / step_mm)))
    edge = int(REACH_MM / step_mm) + 1
    total, count = 0.0, 0
    for row in range(edge, n - 1):
        for col in range(edge, n - 1):
            total += _cloth_share(tile, blur, row, col, step_mm)
            count += 1
    return total / count if count else 1.0


@njit(cache=True, nogil=True)
def _new_tile(n: int) -> Tile:
    """Return empty buffers for a tile of ``n`` by ``n`` samples."""
    return Tile(
        np.empty((n, n), np.int32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
        np.empty((n, n), np.float32),
    )


@njit(cache=True, nogil=True)
def _clear(tile: Tile) -> None:
    """Make a tile bare."""
    tile.which[:] = -1
    tile.height[:] = -1e3
    tile.dent[:] = 0.0


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
def _sample_light(
    tile: Tile,
    blur: NDArray[np.float32],
    at: tuple[int, int, float],
    laid: Laid,
    paint: tuple[NDArray[np.float64], NDArray[np.int64]],
    ground: Ground,
) -> tuple[float, float, float]:
    """Return the linear colour of one sample; ``paint`` is the pieces' colours and seeds."""
    row, col, step_mm = at
    k = tile.which[row, col]
    if k < 0:
        light = _cloth_share(tile, blur, row, col, step_mm) / ground.mean_light
        return ground.red * light, ground.green * light, ground.blue * light
    rgb, seeds = paint
    own, white = light_thread(k, tile.across[row, col], tile.along[row, col], laid, seeds[k])
    dim = _hollow_light(blur[row, col] - tile.height[row, col])
    dim *= 1.0 - 0.5 * _shadow(tile.height, row, col, step_mm)
    own, white = (own + 0.22 * white) * dim, 0.07 * white * dim
    return rgb[k, 0] * own + white, rgb[k, 1] * own + white, rgb[k, 2] * own + white


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
    tile = _new_tile(pixels * canvas.n_sub + 2 * edge)
    blur = np.empty(tile.height.shape, np.float32)
    start, piece = tile_lists(laid.ends_mm, REACH_MM + 0.5, canvas, pixels)
    cols = (canvas.n_cols + pixels - 1) // pixels
    for t in range(len(start) - 1):
        row0, col0 = (t // cols) * pixels, (t % cols) * pixels
        left = canvas.left_mm + col0 * canvas.pixel_mm - edge * step
        top = canvas.top_mm - row0 * canvas.pixel_mm + edge * step
        place = (left, top, step)
        _clear(tile)
        for k in piece[start[t] : start[t + 1]]:
            x0, y0, x1, y1 = laid.ends_mm[k]
            lay_piece(k, laid, tile, left, top, step)
            press_dimple(x0, y0, ground.dimple_mm, tile, place)
            press_dimple(x1, y1, ground.dimple_mm, tile, place)
        _fill_cloth(tile, ground, place)
        _smooth_heights(tile.height, blur, max(1, int(HOLLOW_MM / step)))
        for row in range(row0, min(row0 + pixels, canvas.n_rows)):
            for col in range(col0, min(col0 + pixels, canvas.n_cols)):
                red, green, blue = 0.0, 0.0, 0.0
                for i in range(canvas.n_sub * canvas.n_sub):
                    r = edge + (row - row0) * canvas.n_sub + i // canvas.n_sub
                    c = edge + (col - col0) * canvas.n_sub + i % canvas.n_sub
                    light = _sample_light(
                        tile, blur, (r, c, step), laid, (linear_rgb, seeds), ground
                    )
                    red, green, blue = red + light[0], green + light[1], blue + light[2]
                share = 1.0 / (canvas.n_sub * canvas.n_sub)
                out[row, col, 0] = _encode(red * share)
                out[row, col, 1] = _encode(green * share)
                out[row, col, 2] = _encode(blue * share)
    return out
