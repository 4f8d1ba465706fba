"""Each colour of the art to the nearest thread on the rack, by CIEDE2000."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab
from firstpiece.model.region import ColorMatch

if TYPE_CHECKING:
    from firstpiece.model.material import RGB, ThreadColor


def match_threads(colors: tuple[RGB, ...], rack: tuple[ThreadColor, ...]) -> tuple[ColorMatch, ...]:
    """Return the nearest thread for each colour; equal differences go to the earlier thread.

    Parameters
    ----------
    colors : tuple of RGB
        Colours of the art.
    rack : tuple of ThreadColor
        Not empty.
    """
    if not colors:
        return ()
    art = srgb_to_lab(np.array(colors, dtype=np.float64))
    threads = srgb_to_lab(np.array([t.rgb for t in rack], dtype=np.float64))
    table = ciede2000(art, threads)
    nearest = table.argmin(axis=1)
    return tuple(
        ColorMatch(rgb, rack[j], float(table[i, j]))
        for i, (rgb, j) in enumerate(zip(colors, nearest.tolist(), strict=True))
    )
