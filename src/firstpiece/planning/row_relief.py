"""Where the needle goes down along each row of a fill, and how deep its rows begin.

Input: row numbers. Output: shifts of the needle's places as shares of the stitch length: even ones
that show no seam, or a pattern that shows; and row ends staggered for a soft edge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import Relief

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Order of shifts that keeps equal phases four rows apart and neighbours at least a quarter apart.
STAGGER = np.array([0.0, 0.5, 0.25, 0.75])
TWILL_STEP = 0.15
CHEVRON_ROWS = 10
WAVE_ROWS = 22
WAVE_SHARE = 0.45
# The golden ratio's fraction: its multiples fill an interval evenly, never twice the same.
GOLDEN = 0.6180339887498949
# Feathering takes no more than this share of a row from each of its ends.
MOST_FEATHERED = 0.35


def row_phase(row: NDArray[np.int64], relief: Relief) -> Floats:
    """Return the shift of each row's needle places, as a share of the stitch length.

    Parameters
    ----------
    row : (n,) int64
        Number of the row.
    relief : Relief

    Returns
    -------
    (n,) float64
    """
    if relief is Relief.BRICK:
        return np.asarray((row // 2 % 2) * 0.5)
    if relief is Relief.TWILL:
        return np.asarray(row * TWILL_STEP)
    if relief is Relief.CHEVRON:
        return np.asarray(np.abs(row % (2 * CHEVRON_ROWS) - CHEVRON_ROWS) * TWILL_STEP)
    if relief is Relief.WAVE:
        return np.asarray(WAVE_SHARE * np.sin(2 * np.pi * row / WAVE_ROWS))
    return STAGGER[row % len(STAGGER)]


def feathered(
    left_mm: Floats, right_mm: Floats, row: NDArray[np.int64], depth_mm: float
) -> tuple[Floats, Floats]:
    """Return row ends drawn in by uneven amounts up to a depth, the two ends of a row apart.

    Parameters
    ----------
    left_mm, right_mm : (n,) float64 [mm]
    row : (n,) int64
    depth_mm : float [mm]
    """
    room = np.minimum(depth_mm, MOST_FEATHERED * (right_mm - left_mm))
    room = np.maximum(room, 0.0)
    first = (row * GOLDEN) % 1.0
    second = (row * GOLDEN + 0.5) % 1.0
    return left_mm + first * room, right_mm - second * room
