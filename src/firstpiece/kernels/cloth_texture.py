"""The relief of cloth at a point: knit wales, twill lines, plain weave, terry loops, fleece pile.

In: a weave code, a point in millimetres and the cloth's coarseness. Out: a height between 0 and
about 1 (yarn crowns high, gaps low) whose mean over the cloth is near one half. Everything is a
function of position alone, so a picture may be drawn in any window and at any zoom.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

KNIT, TWILL, PLAIN, TERRY, FLEECE = 0, 1, 2, 3, 4

# Sizes at coarseness 1 in mm. Common practice, no source: T-shirt jersey has about 14 wales and
# 18 courses per cm, an apron twill about 30 ends, heavy canvas about 16; terry loops are 1.2 mm.
WALE_MM, COURSE_MM = 0.70, 0.56
TWILL_END_MM, TWILL_PICK_MM = 0.33, 0.30
PLAIN_YARN_MM = 0.62
LOOP_MM = 0.80
PILE_MM = 0.50


@njit(cache=True, nogil=True)
def hash_unit(i: int, j: int, salt: int) -> float:
    """Return a number in [0, 1) that depends on three integers alone."""
    h = (np.uint64(i & 0xFFFFFFFF) * np.uint64(0x9E3779B1)) & np.uint64(0xFFFFFFFF)
    h ^= (np.uint64(j & 0xFFFFFFFF) * np.uint64(0x85EBCA77)) & np.uint64(0xFFFFFFFF)
    h ^= (np.uint64(salt & 0xFFFFFFFF) * np.uint64(0xC2B2AE3D)) & np.uint64(0xFFFFFFFF)
    h ^= h >> np.uint64(15)
    h = (h * np.uint64(0x2C1B3C6D)) & np.uint64(0xFFFFFFFF)
    h ^= h >> np.uint64(12)
    h = (h * np.uint64(0x297A2D39)) & np.uint64(0xFFFFFFFF)
    h ^= h >> np.uint64(15)
    return float(h) / 4294967296.0


@njit(cache=True, nogil=True)
def value_noise(x: float, y: float, salt: int) -> float:
    """Return smooth noise in [0, 1) with features one unit wide."""
    i, j = math.floor(x), math.floor(y)
    fx, fy = x - i, y - j
    fx, fy = fx * fx * (3.0 - 2.0 * fx), fy * fy * (3.0 - 2.0 * fy)
    i, j = int(i), int(j)
    low = hash_unit(i, j, salt) * (1.0 - fx) + hash_unit(i + 1, j, salt) * fx
    high = hash_unit(i, j + 1, salt) * (1.0 - fx) + hash_unit(i + 1, j + 1, salt) * fx
    return low * (1.0 - fy) + high * fy


@njit(cache=True, nogil=True)
def _knit(x: float, y: float) -> float:
    """Return the relief of stocking stitch: two slanting legs to a wale, nested by courses."""
    x += 0.10 * (value_noise(x * 0.55, y * 0.55, 11) - 0.5)
    wale = math.floor(x / WALE_MM)
    s = x / WALE_MM - wale - 0.5
    side = abs(s) * 2.0
    t = y / COURSE_MM - 0.95 * side + 0.24 * hash_unit(int(wale), 0, 12)
    course = math.floor(t)
    f = t - course - 0.5
    across = side - 0.47 + 0.30 * f
    leg = 1.0 - 1.9 * f * f - 3.0 * across * across
    pick = hash_unit(int(wale) * 2 + (1 if s > 0 else 0), int(course), 13)
    return max(0.0, leg) * (0.90 + 0.2 * pick)


@njit(cache=True, nogil=True)
def _twill(x: float, y: float) -> float:
    """Return the relief of a two-up one-down twill: floats stepping up to the right."""
    x += 0.09 * (value_noise(x * 0.4, y * 0.25, 21) - 0.5)
    y += 0.09 * (value_noise(x * 0.4, y * 0.25, 22) - 0.5)
    end = math.floor(x / TWILL_END_MM)
    fx = x / TWILL_END_MM - end - 0.5
    t = y / (3.0 * TWILL_PICK_MM) - end / 3.0
    step = math.floor(t)
    f = t - step
    # Two of three picks the end floats on top, steeply up and gently down; then it dives.
    along = (f - 0.36) / 0.40 if f < 0.78 else (f - 0.89) / 0.14
    crown = 1.0 - 2.2 * fx * fx - 0.55 * along * along
    if f >= 0.78:
        crown = 0.52 - 0.20 * along * along - 0.4 * fx * fx
    yarn = 0.90 + 0.12 * hash_unit(int(end), 0, 23) + 0.08 * hash_unit(int(end), int(step), 24)
    return max(0.0, crown) * yarn


@njit(cache=True, nogil=True)
def _plain(x: float, y: float) -> float:
    """Return the relief of plain weave: warp and weft crowns in a chequer."""
    x += 0.16 * (value_noise(x * 0.3, y * 0.2, 31) - 0.5)
    y += 0.16 * (value_noise(x * 0.2, y * 0.3, 32) - 0.5)
    i, j = math.floor(x / PLAIN_YARN_MM), math.floor(y / PLAIN_YARN_MM)
    fx, fy = x / PLAIN_YARN_MM - i - 0.5, y / PLAIN_YARN_MM - j - 0.5
    warp_up = (int(i) + int(j)) % 2 == 0
    across, along = (fx, fy) if warp_up else (fy, fx)
    crown = 1.0 - 3.3 * across * across - 1.7 * along * along
    yarn = hash_unit(int(i), 0, 33) if warp_up else hash_unit(0, int(j), 34)
    return max(0.0, crown) * (0.88 + 0.22 * yarn)


@njit(cache=True, nogil=True)
def _tufts(x: float, y: float, pitch: float, salt: int) -> float:
    """Return the highest of the curled tufts near a point: arcs of yarn at jittered places."""
    i0, j0 = math.floor(x / pitch), math.floor(y / pitch)
    best = 0.0
    for i in range(i0 - 1, i0 + 2):
        for j in range(j0 - 1, j0 + 2):
            cx = (i + 0.5 + 0.7 * (hash_unit(i, j, salt) - 0.5)) * pitch
            cy = (j + 0.5 + 0.7 * (hash_unit(i, j, salt + 1) - 0.5)) * pitch
            turn = 6.2832 * hash_unit(i, j, salt + 2)
            ax, ay = math.cos(turn), math.sin(turn)
            along = ((x - cx) * ax + (y - cy) * ay) / (0.95 * pitch)
            q = 1.0 - along * along
            if q > 0.0:
                across = (-(x - cx) * ay + (y - cy) * ax) / pitch
                bend = across - 0.42 * along * along + 0.14
                strand = 2.2 * along + 2.0 * bend
                strand -= math.floor(strand)
                crown = (1.0 - bend * bend / 0.050) * (0.15 + 0.85 * math.sqrt(q))
                crown *= 0.86 + 0.56 * strand * (1.0 - strand)
                best = max(best, crown * (0.62 + 0.4 * hash_unit(i, j, salt + 3)))
    return best


@njit(cache=True, nogil=True)
def _fleece(x: float, y: float) -> float:
    """Return the relief of a brushed face: soft tangled pile over uneven ground."""
    soft = value_noise(x / 0.9, y / 1.1, 51)
    pile = _tufts(x, y, PILE_MM, 52)
    fine = value_noise(x / 0.16, y / 0.16, 56)
    return 0.48 * soft + 0.22 * pile + 0.30 * fine


@njit(cache=True, nogil=True)
def cloth_height(weave: int, x: float, y: float, coarseness: float) -> float:
    """Return the relief of a cloth at a point.

    Parameters
    ----------
    weave : int
        KNIT, TWILL, PLAIN, TERRY or FLEECE.
    x, y : float [mm]
    coarseness : float
        1 for the sizes given in this module; 1.2 makes every yarn a fifth wider.

    Returns
    -------
    float
        Height of the yarn surface, 0 in the gaps to about 1 on the crowns.
    """
    x, y = x / coarseness, y / coarseness
    if weave == KNIT:
        return _knit(x, y)
    if weave == TWILL:
        return _twill(x, y)
    if weave == PLAIN:
        return _plain(x, y)
    if weave == TERRY:
        return _tufts(x, y, LOOP_MM, 41)
    return _fleece(x, y)
