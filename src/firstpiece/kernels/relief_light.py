"""Light on relief: hollows, soft shadows and the cloth between the threads.

In: a tile of sample heights, the cloth. Out: how dim each sample is, and the linear colour of every
cloth sample.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

from firstpiece.kernels.cloth_texture import cloth_height
from firstpiece.kernels.thread_laying import Tile, clear_tile, new_tile
from firstpiece.kernels.thread_sheen import LIGHT_X, LIGHT_Y, LIGHT_Z

if TYPE_CHECKING:
    from numpy.typing import NDArray

# How far a shadow or a hollow is felt, and so how much surround a tile needs [mm].
REACH_MM = 0.55
HOLLOW_MM = 0.22
SHADOW_STEPS_MM = (0.08, 0.15, 0.24, 0.35, 0.48)
HOLLOW_DIM, SHADOW_DIM = 2.6, 0.5
# A lamp is broad: what it throws reaches further than its middle's 48 degrees would tell.
SHADOW_TAN = 0.70


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


@njit(cache=True, nogil=True)
def smooth_heights(source: NDArray[np.float32], out: NDArray[np.float32], reach: int) -> None:
    """Write the mean over a square of ``2·reach + 1`` samples.

    Parameters
    ----------
    source : (n, n) float32
    out : (n, n) float32
        Written; samples outside are taken as the nearest edge sample.
    reach : int
        Samples on each side.
    """
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
def dim_tile(height: NDArray[np.float32], dim: NDArray[np.float32], step_mm: float) -> None:
    """Write the share of light that hollows and shadows leave, from the heights alone.

    Parameters
    ----------
    height : (n, n) float32 [mm]
    dim : (n, n) float32
        Smoothed heights on entry, shares of light on return; samples nearer to the upper left
        edges than ``REACH_MM`` and the last row and column keep what they had.
    step_mm : float [mm]

    Notes
    -----
    A shadow is sought in five steps towards the light; it is soft because what stands far off
    hides the light only in part.
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
                rise = height[row - shifts[i], col - shifts[i]] - here - far * SHADOW_TAN
                worst = max(worst, rise / (0.05 + 0.25 * far))
            shadow = min(1.0, max(0.0, worst + 0.2))
            sky = min(1.10, 1.0 / max(0.4, 1.0 + HOLLOW_DIM * hollow))
            dim[row, col] = sky * (1.0 - SHADOW_DIM * shadow)


@njit(cache=True, nogil=True)
def fill_cloth(tile: Tile, ground: Ground, place: tuple[float, float, float]) -> None:
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
def light_cloth(
    tile: Tile, dim: NDArray[np.float32], ground: Ground, step_mm: float, light: NDArray[np.float32]
) -> None:
    """Write the linear colour of every cloth sample, by its slope and its dimness.

    Parameters
    ----------
    tile : Tile
    dim : (n, n) float32
        Share of light left by hollows and shadows.
    ground : Ground
    step_mm : float [mm]
    light : (n, n, 3) float32
        Written where no thread lies.
    """
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
def mean_cloth_light(ground: Ground, step_mm: float, n: int) -> float:
    """Return the mean red light of ``n`` by ``n`` samples of bare cloth, to level its colour by."""
    tile = new_tile(n)
    dim = np.empty((n, n), np.float32)
    light = np.zeros((n, n, 3), np.float32)
    clear_tile(tile)
    fill_cloth(tile, ground, (0.0, 0.0, step_mm))
    smooth_heights(tile.height, dim, max(1, int(HOLLOW_MM / step_mm)))
    dim_tile(tile.height, dim, step_mm)
    light_cloth(tile, dim, ground, step_mm, light)
    edge = int(REACH_MM / step_mm) + 1
    return light[edge : n - edge, edge : n - edge, 0].mean()
