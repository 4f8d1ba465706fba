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
SHADOW_STEPS_MM = (0.08, 0.15, 0.24, 0.35, 0.48)
HOLLOW_DIM, SHADOW_DIM = 2.6, 0.5
SHOULDER = 0.75
TILE_SAMPLES = 160
# Two plies twisted together: length of one ply's crossing, and the lean of its fibres.
PLY_MM, PLY_LEAN = 0.80, 0.24
FILAMENTS = 7.0
# Brings the mean of a solid fill, over all directions, to the thread's own colour.
THREAD_LEVEL = 1.27


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
def light_thread(
    axis: tuple[float, float], half: float, arch: float, at: tuple[float, float], seed: int
) -> tuple[float, float]:
    """Return how much of its own colour and how much white a thread sample sends to the eye.

    Parameters
    ----------
    axis : tuple of float [mm]
        From the piece's first end to its last.
    half, arch : float [mm]
        Its half width and the rise of its middle.
    at : tuple of float
        Across, -1 at the right edge to 1 at the left seen along the piece; along [mm].
    seed : int
        Decides ply phase and filaments.

    Notes
    -----
    Fibre sheen after Kajiya & Kay 1989 (from memory): a fibre mirrors light into a cone about its
    tangent, so the highlight is strongest where the angles of light and eye to the tangent agree.
    The tangent leans with the ply and with the arch of the stitch; the eye is straight above.
    """
    across, along = at
    length = math.hypot(axis[0], axis[1])
    tx, ty = axis[0] / length, axis[1] / length
    slope = -4.0 * arch * (2.0 * along / length - 1.0) / length
    q = min(along, length - along)
    if q < DIP_LENGTH_MM:
        dive = 2.0 * DIP_MM * (1.0 - max(q, 0.0) / DIP_LENGTH_MM) / DIP_LENGTH_MM
        slope += dive if along < length - along else -dive
    round_ = math.sqrt(1.0 - across * across)
    side = CROWN_MM / half * across / max(round_, 0.3)
    # Normal of the surface: across is (-ty, tx), along is (tx, ty).
    norm = 1.0 / math.sqrt(1.0 + side * side + slope * slope)
    facing = (-side * ty - slope * tx) * LIGHT_X + (side * tx - slope * ty) * LIGHT_Y + LIGHT_Z
    facing = max(0.0, facing * norm)
    phase = along / PLY_MM + 0.42 * across + hash_unit(seed, 0, 3)
    phase -= math.floor(phase)
    groove = (2.0 * phase - 1.0) * (2.0 * phase - 1.0)
    groove *= groove
    strand = (across + 1.0 + 1.5 * along / PLY_MM) * FILAMENTS
    fleck = hash_unit(seed, math.floor(strand), 4) - 0.5
    lean = PLY_LEAN * (1.0 - 0.6 * groove) + 0.30 * fleck
    fx, fy, fz = tx - lean * ty, ty + lean * tx, slope + 0.16 * fleck
    fibre = 1.0 / math.sqrt(fx * fx + fy * fy + fz * fz)
    to_light = (fx * LIGHT_X + fy * LIGHT_Y + fz * LIGHT_Z) * fibre
    to_eye = fz * fibre
    mirror = math.sqrt(1.0 - to_light * to_light) * math.sqrt(1.0 - to_eye * to_eye)
    mirror = max(0.0, mirror - to_light * to_eye)
    broad = mirror * mirror * mirror * mirror
    broad *= broad
    sharp = broad * broad * broad
    own = (0.40 + 0.44 * facing + 0.60 * broad * facing) * (1.0 - 0.34 * groove)
    own *= (0.74 + 0.26 * round_) * (1.0 + 0.16 * fleck)
    own *= 1.0 + 0.12 * (hash_unit(seed, 1, 5) - 0.5)
    return own * THREAD_LEVEL, sharp * facing * round_


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
def _dim_tile(height: NDArray[np.float32], dim: NDArray[np.float32], step_mm: float) -> None:
    """Write the share of light that hollows and shadows leave, from the heights alone.

    ``dim`` holds the smoothed heights on entry. A shadow is sought in five steps towards the
    light; it is soft because what stands far off hides the light only in part.
    """
    n = height.shape[0]
    edge = int(REACH_MM / step_mm) + 1
    shifts = np.array([round(0.7071 * far / step_mm) for far in SHADOW_STEPS_MM])
    for row in range(edge, n - 1):
        for col in range(edge, n - 1):
            here = height[row, col]
            hollow = dim[row, col] - here
            worst = -1.0
            for i in range(len(SHADOW_STEPS_MM)):
                far = SHADOW_STEPS_MM[i]
                rise = height[row - shifts[i], col - shifts[i]] - here - far * LIGHT_TAN
                worst = max(worst, rise / (0.05 + 0.25 * far))
            shadow = min(1.0, max(0.0, worst + 0.2))
            sky = min(1.10, 1.0 / max(0.4, 1.0 + HOLLOW_DIM * hollow))
            dim[row, col] = sky * (1.0 - SHADOW_DIM * shadow)


@njit(cache=True, nogil=True)
def _fill_cloth(tile: Tile, ground: Ground, place: tuple[float, float, float]) -> None:
    """Write the cloth's height where no thread lies."""
    left_mm, top_mm, step_mm = place
    which, height, dent = tile.which, tile.height, tile.dent
    n = which.shape[0]
    for row in range(n):
        y = top_mm - (row + 0.5) * step_mm
        for col in range(n):
            if which[row, col] < 0:
                x = left_mm + (col + 0.5) * step_mm
                relief = cloth_height(ground.weave, x, y, ground.coarseness) - 1.0
                height[row, col] = ground.relief_mm * relief - 0.16 * dent[row, col]


@njit(cache=True, nogil=True)
def _light_cloth(
    tile: Tile, dim: NDArray[np.float32], ground: Ground, step_mm: float, light: NDArray[np.float32]
) -> None:
    """Write the linear colour of every cloth sample, by its slope and its dimness."""
    which, height, dent = tile.which, tile.height, tile.dent
    n = which.shape[0]
    level = 1.0 / ground.mean_light
    for row in range(1, n - 1):
        for col in range(1, n - 1):
            if which[row, col] >= 0:
                continue
            here = height[row, col]
            west = height[row, col - 1] if which[row, col - 1] < 0 else here
            east = height[row, col + 1] if which[row, col + 1] < 0 else here
            north = height[row - 1, col] if which[row - 1, col] < 0 else here
            south = height[row + 1, col] if which[row + 1, col] < 0 else here
            gx, gy = (east - west) / (2.0 * step_mm), (north - south) / (2.0 * step_mm)
            facing = LIGHT_Z - gx * LIGHT_X - gy * LIGHT_Y
            facing = max(0.0, facing) / (LIGHT_Z * math.sqrt(1.0 + gx * gx + gy * gy))
            lit = (0.42 + 0.58 * facing) * dim[row, col] * (1.0 - 0.30 * dent[row, col]) * level
            light[row, col, 0] = ground.red * lit
            light[row, col, 1] = ground.green * lit
            light[row, col, 2] = ground.blue * lit


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
def mean_cloth_light(ground: Ground, step_mm: float, n: int) -> float:
    """Return the mean red light of ``n`` by ``n`` samples of bare cloth, to level its colour by."""
    tile = _new_tile(n)
    dim = np.empty((n, n), np.float32)
    light = np.zeros((n, n, 3), np.float32)
    _clear(tile)
    _fill_cloth(tile, ground, (0.0, 0.0, step_mm))
    _smooth_heights(tile.height, dim, max(1, int(HOLLOW_MM / step_mm)))
    _dim_tile(tile.height, dim, step_mm)
    _light_cloth(tile, dim, ground, step_mm, light)
    edge = int(REACH_MM / step_mm) + 1
    return light[edge : n - edge, edge : n - edge, 0].mean()


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
    tile = _new_tile(pixels * canvas.n_sub + 2 * edge)
    dim = np.empty(tile.height.shape, np.float32)
    light = np.zeros((*tile.height.shape, 3), np.float32)
    start, piece = tile_lists(laid.ends_mm, REACH_MM + 0.5, canvas, pixels)
    cols = (canvas.n_cols + pixels - 1) // pixels
    for t in range(len(start) - 1):
        row0, col0 = (t // cols) * pixels, (t % cols) * pixels
        left = canvas.left_mm + col0 * canvas.pixel_mm - edge * step
        top = canvas.top_mm - row0 * canvas.pixel_mm + edge * step
        place = (left, top, step)
        _clear(tile)
        for k in piece[start[t] : start[t + 1]]:
            lay_piece(k, laid, tile, place)
            press_dimple(laid.ends_mm[k, 0], laid.ends_mm[k, 1], ground.dimple_mm, tile, place)
            press_dimple(laid.ends_mm[k, 2], laid.ends_mm[k, 3], ground.dimple_mm, tile, place)
        _fill_cloth(tile, ground, place)
        _smooth_heights(tile.height, dim, max(1, int(HOLLOW_MM / step)))
        _dim_tile(tile.height, dim, step)
        _light_cloth(tile, dim, ground, step, light)
        _light_pieces(tile, dim, laid, linear_rgb, seeds, light)
        _print_tile(light, out, row0, col0, (edge, canvas.n_sub))
    return out
