"""The plan's thread as rows: stitches that go straight on pull as one.

Input: laid thread and the plan. Output: which row each piece belongs to, and each row's ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.model.stitch import StitchPlan

# A turn of more than 30° begins a new row.
STRAIGHT_COS = 0.866
# Stitches shorter than this are ties and corners; they draw nothing together.
SHORTEST_MM = 0.3
USUAL_SPACING_MM = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class ThreadRows:
    """Rows of stitches.

    Parameters
    ----------
    of_piece : (m,) int64
        Row of each piece of laid thread.
    start, end : (r, 2) float64 [mm]
    length_mm : (r,) float64 [mm]
        Sum of its pieces.
    angle_rad : (r,) float64 [rad]
    spacing_mm : (r,) float64 [mm]
    is_column : (r,) bool
        One satin stitch, which shares both its holes.
    region_id : (r,) int64
    first_row, last_row : (r,) int64
        The plan's rows at the two ends.
    """

    of_piece: NDArray[np.int64]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    length_mm: NDArray[np.float64]
    angle_rad: NDArray[np.float64]
    spacing_mm: NDArray[np.float64]
    is_column: NDArray[np.bool_]
    region_id: NDArray[np.int64]
    first_row: NDArray[np.int64]
    last_row: NDArray[np.int64]


def find_rows(plan: StitchPlan, laid: LaidThread) -> ThreadRows:
    """Return the rows of a plan's thread, in sewing order."""
    segments, lengths = laid.segments_mm, laid.lengths_mm
    steps = segments[:, 2:] - segments[:, :2]
    along = steps / np.maximum(lengths, 1e-9)[:, None]
    region = plan.region_id[laid.row].astype(np.int64)
    goes_on = np.zeros(len(segments), dtype=bool)
    goes_on[1:] = (
        (np.diff(laid.row) == 1)
        & (region[1:] == region[:-1])
        & ((along[1:] * along[:-1]).sum(axis=1) >= STRAIGHT_COS)
    )
    of_piece = np.cumsum(~goes_on) - 1
    first = np.flatnonzero(~goes_on)
    last = np.append(first[1:], len(segments)) - 1 if len(first) else first
    start, end = segments[first, :2], segments[last, 2:]
    chord = end - start
    spacing = {t.region_id: t.spacing_mm or USUAL_SPACING_MM for t in plan.treatments}
    satin = [t.region_id for t in plan.treatments if t.stitch_type is StitchType.SATIN]
    return ThreadRows(
        of_piece=of_piece,
        start=start,
        end=end,
        length_mm=np.add.reduceat(lengths, first) if len(first) else np.zeros(0),
        angle_rad=np.arctan2(chord[:, 1], chord[:, 0]),
        spacing_mm=np.array([spacing.get(int(r), USUAL_SPACING_MM) for r in region[first]], float),
        is_column=(first == last) & np.isin(region[first], satin),
        region_id=region[first],
        first_row=laid.row[first] - 1,
        last_row=laid.row[last],
    )
