"""How a pattern looks from a distance: fine detail blurs, and colour detail blurs first.

Input: a picture in opponent colours with its size. Output: the same as the eye resolves it from a
distance, and its CIELAB values. A spatial extension of CIELAB.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np
from skimage.color import xyz2lab

if TYPE_CHECKING:
    from numpy.typing import NDArray

Kernel = tuple[tuple[float, float], ...]

# (spread σ [degrees], weight) of each Gaussian exp(−(r/σ)²): light–dark, red–green, blue–yellow.
KERNELS: tuple[Kernel, Kernel, Kernel] = (
    ((0.0283, 0.921), (0.133, 0.105), (4.336, -0.108)),
    ((0.0392, 0.531), (0.494, 0.330)),
    ((0.0536, 0.488), (0.386, 0.371)),
)
# XYZ to opponent colours as used with those kernels (Zhang & Wandell 1996, from memory).
OPPONENT_OF_XYZ = np.array(
    [[0.279, 0.720, -0.107], [-0.449, 0.290, -0.077], [0.086, -0.590, 0.501]]
)
XYZ_OF_OPPONENT = np.linalg.inv(OPPONENT_OF_XYZ)
# A blur wider than this many pixels is made on a coarser raster.
WIDEST_BLUR_PX = 3.5


def see_from(
    opponent: NDArray[np.float32], *, pixel_mm: float, distance_mm: float
) -> NDArray[np.float32]:
    """Return a picture as the eye resolves it from a distance.

    Parameters
    ----------
    opponent : (3, h, w) float32
        Opponent colours, linear in light.
    pixel_mm : float [mm]
    distance_mm : float [mm]
        From the eye to the cloth.

    Returns
    -------
    (3, h, w) float32

    Notes
    -----
    Each channel is a sum of Gaussians whose weights are scaled to add up to 1, so an even colour
    stays as it is. Beyond the picture's edge its edge colour goes on.

    References
    ----------
    Zhang & Wandell 1996, A spatial extension of CIELAB for digital color image reproduction, SID
    Digest 27, 731.
    """
    per_degree = distance_mm * math.tan(math.radians(1.0)) / pixel_mm
    seen = np.zeros_like(opponent)
    for channel, kernel in enumerate(KERNELS):
        total = sum(weight for _, weight in kernel)
        for spread, weight in kernel:
            deviation = spread * per_degree / math.sqrt(2.0)
            seen[channel] += np.float32(weight / total) * _blur(opponent[channel], deviation)
    return seen


def lab_of_opponent(opponent: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return (n, 3) float32 CIELAB (D65) of (3, n) opponent colours."""
    xyz = np.maximum(XYZ_OF_OPPONENT.astype(np.float32) @ opponent, 0.0)
    return np.ascontiguousarray(xyz2lab(xyz.T), dtype=np.float32)


def _blur(plane: NDArray[np.float32], deviation: float) -> NDArray[np.float32]:
    """Blur by a Gaussian; a wide one on means over blocks, which take their part of the spread."""
    step = max(1, int(deviation / WIDEST_BLUR_PX))
    height, width = plane.shape
    if step == 1:
        return _gauss(plane, deviation)
    size = (max(1, round(width / step)), max(1, round(height / step)))
    small = cv2.resize(plane, size, interpolation=cv2.INTER_AREA)
    # A block of n px has a variance of n²/12, linear reading between blocks n²/6.
    rest = math.sqrt(max(0.0, deviation**2 - step**2 / 4.0)) / step
    wide = cv2.resize(_gauss(small, rest), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(wide, dtype=np.float32)


def _gauss(plane: NDArray[np.float32], deviation: float) -> NDArray[np.float32]:
    if deviation < 0.05:
        return plane
    reach = 2 * math.ceil(3.5 * deviation) + 1
    blurred = cv2.GaussianBlur(plane, (reach, reach), deviation, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(blurred, dtype=np.float32)
