"""A map of the forecast as a picture: an even scale from dark blue to yellow.

Input: values with the ends of their scale. Output: sRGB pixels. The scale reads alike with every
kind of colour sight.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# The cividis scale (Nuñez, Anderton & Renslow 2018, Optimizing colormaps with consideration for
# color vision deficiency, PLoS ONE 13(7) e0199239) at places from 0 to 255; straight between them
# it is met to two codes of 255.
CIVIDIS = (
    (0, "00224e"), (19, "00306f"), (21, "003170"), (23, "013271"), (28, "123570"), (34, "1e3a6f"),
    (52, "36466c"), (84, "565c6d"), (126, "7b7a78"), (147, "8f8a78"), (179, "aea371"),
    (205, "c9b965"), (232, "e7d150"), (243, "f3db42"), (251, "fde334"), (255, "fee838"),
)  # fmt: skip


@cache
def map_colors() -> NDArray[np.uint8]:
    """Return (256, 3) uint8 sRGB: the scale from its low to its high end."""
    places = [place for place, _code in CIVIDIS]
    stops = np.array([[int(code[i : i + 2], 16) for i in (0, 2, 4)] for _place, code in CIVIDIS])
    at = np.arange(256)
    channels = [np.interp(at, places, stops[:, k]) for k in range(3)]
    colors: NDArray[np.uint8] = np.rint(np.stack(channels, axis=1)).astype(np.uint8)
    colors.flags.writeable = False
    return colors


def draw_map(
    values: NDArray[np.float32], *, low: float, high: float, enlarge: int = 1
) -> NDArray[np.uint8]:
    """Return a map as sRGB pixels.

    Parameters
    ----------
    values : (h, w) float32
    low, high : float
        Ends of the scale; values beyond them take its end colours.
    enlarge : int
        Pixels along the side of a value.

    Returns
    -------
    (h · enlarge, w · enlarge, 3) uint8 [sRGB]
    """
    share = np.clip((values - low) / max(high - low, 1e-9), 0.0, 1.0)
    pixels = map_colors()[np.rint(255.0 * share).astype(np.int64)]
    return np.ascontiguousarray(np.repeat(np.repeat(pixels, enlarge, axis=0), enlarge, axis=1))
