"""Thread as a layer of the sheet, and the plan cut into batches that are sewn one after another.

Input: laid thread, its rows and how far each closes. Output: moduli and free forces per element.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.thread_rows import SHORTEST_MM
from firstpiece.kernels.thread_smear import smear_thread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.hoop_sheet import HoopGrid
    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.forecasting.thread_rows import ThreadRows
    from firstpiece.model.stitch import StitchPlan

MOST_BATCHES = 32
# A change of area begins a new batch once the present one holds this share of a full one.
CUT_AT_AREA = 0.5
# Slack of every cut, so that the rounding of sums never decides where one falls.
SLACK = 1e-6
# Stretch stiffness of sewing thread per tex [N/tex]; below the fibre's 10.6 (Morton & Hearle, Table
# 13.2) as twist and crimp give way; from memory.
THREAD_N_PER_TEX = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class ThreadLayer:
    """The thread as a layer of the sheet: what it adds to the elements and how it pulls them.

    ``closing`` (r,) [mm] per row, ``batch`` (m,) the load case of each piece of laid thread,
    ``thread_n`` [N] the stretch stiffness of one thread.
    """

    grid: HoopGrid
    laid: LaidThread
    rows: ThreadRows
    closing: NDArray[np.float64]
    batch: NDArray[np.int64]
    thread_n: float

    @property
    def n_batches(self) -> int:
        """Number of load cases."""
        return int(self.batch.max()) + 1 if len(self.batch) else 1

    def layers(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the thread's moduli per element and the free forces of every batch [N/mm]."""
        grid, rows = self.grid, self.rows
        cells = grid.in_cells(self.laid.segments_mm.reshape(-1, 2)).reshape(-1, 4)
        # A row stiffens whole elements, so it acts over about one element more than its length.
        reach = rows.length_mm + grid.cell_mm
        strain = np.where(rows.length_mm > SHORTEST_MM, -self.closing / reach, 0.0)
        stiffness, force = smear_thread(
            np.ascontiguousarray(cells),
            strain[rows.of_piece],
            self.batch,
            (grid.rows, grid.cols),
            self.n_batches,
        )
        scale = self.thread_n / grid.cell_mm
        return stiffness * scale, force * scale


def sew_batches(plan: StitchPlan, laid: LaidThread) -> NDArray[np.int64]:
    """Return (m,) int64 load case of each piece: about even shares, cut where areas change."""
    lengths = laid.lengths_mm
    if not len(lengths):
        return np.zeros(0, dtype=np.int64)
    region = plan.region_id[laid.row]
    starts = np.flatnonzero(np.diff(region, prepend=region[0] - 1) != 0)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    full = along[-1] / MOST_BATCHES
    batch = np.zeros(len(lengths), dtype=np.int64)
    case, held = -1, np.inf
    for begin, stop in zip(starts, [*starts[1:], len(lengths)], strict=True):
        share = along[stop] - along[begin]
        if held + share > full * (1 + SLACK) or held > (CUT_AT_AREA + SLACK) * full:
            case, held = case + 1, 0.0
        parts = max(1, int(share / full + SLACK))
        within = (along[begin:stop] - along[begin]) / max(share, 1e-9) * parts + SLACK
        batch[begin:stop] = case + np.minimum(within.astype(np.int64), parts - 1)
        case += parts - 1
        held = np.inf if parts > 1 else held + share
    return batch
