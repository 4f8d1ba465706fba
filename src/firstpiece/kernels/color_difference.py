"""Colour differences as the eye counts them: sRGB to CIELAB (D65) and CIEDE2000.

Input: arrays of sRGB codes or of CIELAB values. Output: CIELAB values or differences.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def _lab_curve(t: float) -> float:
    if t > 216.0 / 24389.0:
        return float(t ** (1.0 / 3.0))
    return (24389.0 / 27.0 * t + 16.0) / 116.0


@njit(cache=True)
def srgb_to_lab(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return CIELAB values of sRGB colours, white point D65.

    Parameters
    ----------
    rgb : (n, 3) float64
        sRGB codes, 0 to 255; need not be whole.

    Returns
    -------
    (n, 3) float64
        L* 0 to 100, a*, b*.

    References
    ----------
    IEC 61966-2-1:1999 for sRGB; ISO/CIE 11664-4 for CIELAB.
    """
    lab = np.empty((rgb.shape[0], 3))
    linear = np.empty(3)
    for i in range(rgb.shape[0]):
        for c in range(3):
            v = rgb[i, c] / 255.0
            linear[c] = v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4
        r, g, b = linear
        x = _lab_curve((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047)
        y = _lab_curve(0.2126729 * r + 0.7151522 * g + 0.0721750 * b)
        z = _lab_curve((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883)
        lab[i, 0] = 116.0 * y - 16.0
        lab[i, 1] = 500.0 * (x - y)
        lab[i, 2] = 200.0 * (y - z)
    return lab


@njit(cache=True)
def _hue_degrees(b: float, a: float) -> float:
    if a == 0.0 and b == 0.0:
        return 0.0
    return math.degrees(math.atan2(b, a)) % 360.0


@njit(cache=True)
def _mean_hue(h1: float, h2: float) -> float:
    if abs(h1 - h2) <= 180.0:
        return (h1 + h2) / 2.0
    if h1 + h2 < 360.0:
        return (h1 + h2 + 360.0) / 2.0
    return (h1 + h2 - 360.0) / 2.0


@njit(cache=True)
def _hue_step(h1: float, h2: float) -> float:
    step = h2 - h1
    if step > 180.0:
        return step - 360.0
    if step < -180.0:
        return step + 360.0
    return step


@njit(cache=True)
def _difference(p: NDArray[np.float64], q: NDArray[np.float64]) -> float:
    """CIEDE2000 of two CIELAB colours with kL = kC = kH = 1; symbols as in the paper."""
    mean_c7 = ((math.hypot(p[1], p[2]) + math.hypot(q[1], q[2])) / 2.0) ** 7
    g = 0.5 * (1.0 - math.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1, a2 = (1.0 + g) * p[1], (1.0 + g) * q[1]
    c1, c2 = math.hypot(a1, p[2]), math.hypot(a2, q[2])
    h1, h2 = _hue_degrees(p[2], a1), _hue_degrees(q[2], a2)
    # The paper's special case for greys is not needed: d_h is 0 then, so every hue term drops out.
    d_l = q[0] - p[0]
    d_c = c2 - c1
    half_step = math.radians(_hue_step(h1, h2)) / 2.0
    d_h = 2.0 * math.sqrt(c1 * c2) * math.sin(half_step)
    l_mean, c_mean = (p[0] + q[0]) / 2.0, (c1 + c2) / 2.0
    h_mean = _mean_hue(h1, h2)
    t = (
        1.0
        - 0.17 * math.cos(math.radians(h_mean - 30.0))
        + 0.24 * math.cos(math.radians(2.0 * h_mean))
        + 0.32 * math.cos(math.radians(3.0 * h_mean + 6.0))
        - 0.20 * math.cos(math.radians(4.0 * h_mean - 63.0))
    )
    turn = 30.0 * math.exp(-(((h_mean - 275.0) / 25.0) ** 2))
    r_c = 2.0 * math.sqrt(c_mean**7 / (c_mean**7 + 25.0**7))
    s_l = 1.0 + 0.015 * (l_mean - 50.0) ** 2 / math.sqrt(20.0 + (l_mean - 50.0) ** 2)
    s_c = 1.0 + 0.045 * c_mean
    s_h = 1.0 + 0.015 * c_mean * t
    r_t = -math.sin(math.radians(2.0 * turn)) * r_c
    light, chroma, hue = d_l / s_l, d_c / s_c, d_h / s_h
    return math.sqrt(max(0.0, light**2 + chroma**2 + hue**2 + r_t * chroma * hue))


@njit(cache=True)
def ciede2000(
    lab_rows: NDArray[np.float64], lab_columns: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the CIEDE2000 difference of every row colour to every column colour.

    Parameters
    ----------
    lab_rows : (n, 3) float64
    lab_columns : (m, 3) float64
        CIELAB colours.

    Returns
    -------
    (n, m) float64
        0 for equal colours; about 1 is just seen side by side.

    References
    ----------
    Sharma, Wu & Dalal 2005, The CIEDE2000 color-difference formula, Color Research and
    Application 30(1) 21–30; ISO/CIE 11664-6.
    """
    table = np.empty((lab_rows.shape[0], lab_columns.shape[0]))
    for i in range(lab_rows.shape[0]):
        for j in range(lab_columns.shape[0]):
            table[i, j] = _difference(lab_rows[i], lab_columns[j])
    return table
