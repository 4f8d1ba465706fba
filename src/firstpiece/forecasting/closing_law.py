"""How far one stitch, or one row of stitches, draws its ends together.

Input: length and spacing of a row, thread tension, stiffness of the sheet. Output: the closing in
mm, both ends together. The law is a table made stitch by stitch; nothing in it was sewn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Closing times stiffness over tension, by share of slip, in a sheet alike in all directions (ν 0.3)
# clamped 44 mm square, pulls spread over a disc of 0.25 mm radius: from the stitch-by-stitch twin
# in tests/forecasting. Columns (zigzag, shared holes) by width, for three column spacings; rows of
# 4 mm stitches 0.40 mm apart by their length, the mean of rows 3 to 7 of 8.
SLIPS = (0.1, 0.3, 0.5)
COLUMN_WIDTHS_MM = (1.0, 2.0, 4.0, 8.0)
COLUMN_SPACINGS_MM = (0.25, 0.4, 0.8)
COLUMN_TABLE = np.array(
    [
        [[0.42, 0.55, 0.60, 0.63], [0.73, 0.93, 1.03, 1.07], [0.92, 1.43, 1.75, 1.91]],
        [[1.37, 1.76, 2.06, 2.22], [1.60, 2.41, 2.91, 3.18], [1.14, 2.15, 3.10, 3.73]],
        [[2.25, 3.21, 3.78, 4.09], [1.90, 3.28, 4.37, 5.02], [1.19, 2.39, 3.87, 5.08]],
    ]
)
ROW_LENGTHS_MM = (4.0, 8.0, 16.0, 24.0)
ROW_TABLE = np.array([[0.68, 1.04, 1.74, 2.43], [1.74, 2.47, 3.01, 3.66], [2.53, 2.50, 3.64, 4.07]])
LONG_ROW_SLOPE = (ROW_TABLE[:, -1] - ROW_TABLE[:, -2]) / 8.0


@dataclass(frozen=True, slots=True)
class Sewing:
    """What no card knows: the thread's tension [N] while a stitch forms, and the share of slip.

    ``slip`` is the share of the tension that is drawn through to the stitch before; at 0 every
    stitch locks at once. All are guesses: no source that was read gives a tension in newtons.
    """

    tension_n: float = 0.5
    slip: float = 0.3


USUAL = Sewing()
TENSION_RANGE, SLIP_RANGE = (0.3, 0.5, 1.0), (0.1, 0.3, 0.5)


def closing_mm(
    length_mm: NDArray[np.float64],
    spacing_mm: NDArray[np.float64],
    is_column: NDArray[np.bool_],
    stiffness: NDArray[np.float64],
    sewing: Sewing = USUAL,
) -> NDArray[np.float64]:
    """Return by how much rows come out shorter than the needle's path.

    Parameters
    ----------
    length_mm : (n,) float64 [mm]
        A satin stitch, or a whole row of a fill.
    spacing_mm : (n,) float64 [mm]
        Column spacing; not used for rows.
    is_column : (n,) bool
    stiffness : (n,) float64 [N/mm]
        What a pair of pulls meets (``pulled_stiffness``).
    sewing : Sewing

    Returns
    -------
    (n,) float64 [mm]

    Notes
    -----
    Tension/stiffness × table, read linearly in the logarithm of the length, in spacing and in slip.
    Lengths under the table shrink to nothing with the length; longer rows go on at the last slope,
    longer columns stay as they are.
    """
    table_slip = np.clip(sewing.slip, SLIPS[0], SLIPS[-1])
    columns = _between(SLIPS, COLUMN_TABLE, table_slip)
    rows = _between(SLIPS, ROW_TABLE, table_slip)
    spacing = np.clip(spacing_mm, COLUMN_SPACINGS_MM[0], COLUMN_SPACINGS_MM[-1])
    by_spacing = np.stack(
        [_by_length(length_mm, COLUMN_WIDTHS_MM, line) for line in columns], axis=0
    )
    column = _blend(COLUMN_SPACINGS_MM, by_spacing, spacing)
    beyond = np.maximum(0.0, length_mm - ROW_LENGTHS_MM[-1])
    slope = float(np.interp(table_slip, SLIPS, LONG_ROW_SLOPE))
    row = _by_length(length_mm, ROW_LENGTHS_MM, rows) + slope * beyond
    result: NDArray[np.float64] = np.where(is_column, column, row) * sewing.tension_n / stiffness
    return result


def _by_length(
    length_mm: NDArray[np.float64], lengths: tuple[float, ...], line: NDArray[np.float64]
) -> NDArray[np.float64]:
    inside = np.clip(length_mm, lengths[0], lengths[-1])
    read = np.interp(np.log(inside), np.log(lengths), line)
    return read * np.minimum(1.0, length_mm / lengths[0])


def _between(
    places: tuple[float, ...], table: NDArray[np.float64], at: float
) -> NDArray[np.float64]:
    """Return the table's slice at a place along its first axis."""
    k = int(np.clip(np.searchsorted(places, at) - 1, 0, len(places) - 2))
    share = (at - places[k]) / (places[k + 1] - places[k])
    result: NDArray[np.float64] = (1.0 - share) * table[k] + share * table[k + 1]
    return result


def _blend(
    places: tuple[float, ...], lines: NDArray[np.float64], at: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return, for each column of ``lines``, its value at that column's own place."""
    k = np.clip(np.searchsorted(places, at) - 1, 0, len(places) - 2)
    low, high = np.take(places, k), np.take(places, k + 1)
    share = (at - low) / (high - low)
    each = np.arange(lines.shape[1])
    result: NDArray[np.float64] = (1.0 - share) * lines[k, each] + share * lines[k + 1, each]
    return result
