"""Where the stitches come to lie once the thread has drawn the cloth together.

Input: plan, set-up, laid thread. Output: settled points, how far each row closed, and the strain of
the sheet. Stitches are placed at fixed places of the frame, so one is moved only by what is sewn
with it or after it: the plan is cut into batches, each a load case of one factored sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.closing_law import USUAL, closing_mm
from firstpiece.forecasting.cloth_sheet import (
    SheetStiffness,
    backing_moduli,
    cloth_moduli,
    pulled_stiffness,
)
from firstpiece.forecasting.drawn_sheet import draw_together
from firstpiece.forecasting.hoop_sheet import hoop_grid
from firstpiece.forecasting.thread_layer import THREAD_N_PER_TEX, ThreadLayer, sew_batches
from firstpiece.forecasting.thread_rows import SHORTEST_MM, find_rows
from firstpiece.kernels.thread_smear import read_field
from firstpiece.model.hooping import needle_places, smallest_hoop

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.closing_law import Sewing
    from firstpiece.forecasting.hoop_sheet import HoopGrid
    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.forecasting.thread_rows import ThreadRows
    from firstpiece.model.material import Setup
    from firstpiece.model.stitch import StitchPlan

# Past this stretch of the cloth the linear model has nothing to say (our own limit).
LINEAR_TO = 0.10


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """The sewn piece, off the hoop.

    Parameters
    ----------
    points_mm : (n, 2) float64 [mm]
        Every row of the plan.
    rows : ThreadRows
    closing_mm : (r,) float64 [mm]
        By how much each row is drawn shorter while it is sewn.
    grid : HoopGrid
    strains : (m, 3) float64
        εx, εy, γxy of each element, hoop released.
    """

    points_mm: NDArray[np.float64]
    rows: ThreadRows
    closing_mm: NDArray[np.float64]
    grid: HoopGrid
    strains: NDArray[np.float64]

    @property
    def is_linear(self) -> bool:
        """False where the draw is too large for the model: the cloth needs backing."""
        long_enough = self.rows.length_mm > 1.0
        share = self.closing_mm[long_enough] / self.rows.length_mm[long_enough]
        worst_row = float(np.percentile(share, 90)) if len(share) else 0.0
        return worst_row <= 3 * LINEAR_TO and float(np.abs(self.strains).max()) <= 3 * LINEAR_TO


def settle_cloth(
    plan: StitchPlan, setup: Setup, laid: LaidThread, *, sewing: Sewing = USUAL
) -> Settled:
    """Return the plan as it lies when the piece is off the hoop.

    Parameters
    ----------
    plan : StitchPlan
    setup : Setup
        Cloth, backing, hoops.
    laid : LaidThread
        As planned.
    sewing : Sewing
        Thread tension and slip.

    Notes
    -----
    Each row's closing follows ``closing_law``; it acts as a free strain of a thread layer that is
    laid over a plane sheet of cloth and backing clamped in the smallest hoop that clears. One
    stiffness, with all the thread in it, serves all batches: an area is resisted a little by thread
    that is not sewn yet. Points follow the sheet; within a row the sheet's coarse closing is
    replaced by the law's. At the end the hoop is taken off and backing far from thread removed.
    Not checked against sewn cloth; sizes rest on guessed tension, slip and backing stiffness.
    """
    rows = find_rows(plan, laid)
    points = plan.xy_mm[plan.is_stitch]
    box = (*points.min(axis=0), *points.max(axis=0)) if len(points) else (0.0, 0.0, 0.0, 0.0)
    x0, y0, x1, y1 = (float(v) for v in box)
    # About the middle and to a nanometre: where the design lies never decides which hoop clears.
    places = np.round(needle_places(plan) - [(x0 + x1) / 2, (y0 + y1) / 2], 6)
    grid = hoop_grid((x0, y0, x1, y1), smallest_hoop(places, setup.hoops))
    sheet = SheetStiffness.of_cards(setup.fabric, setup.backing)
    held = pulled_stiffness(cloth_moduli(sheet) + backing_moduli(sheet), rows.angle_rad)
    closing = closing_mm(rows.length_mm, rows.spacing_mm, rows.is_column, held, sewing)
    batch = sew_batches(plan, laid)
    tex = float(np.mean([t.tex for t in plan.threads])) if plan.threads else 0.0
    layer = ThreadLayer(grid, laid, rows, closing, batch, THREAD_N_PER_TEX * tex)
    moved, total, strains = draw_together(layer, setup, sheet)
    settled = plan.xy_mm + _displacements(plan, laid, layer, moved, total)
    return Settled(settled, rows, closing, grid, strains)


def _displacements(
    plan: StitchPlan,
    laid: LaidThread,
    layer: ThreadLayer,
    moved: NDArray[np.float64],
    change: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return (n, 2) float64: how far every row of the plan ends up from where it was placed."""
    grid = layer.grid
    after = np.cumsum(moved[::-1], axis=0)[::-1] + change
    case = np.zeros(len(plan.xy_mm), dtype=np.int64)
    if len(laid.row):
        place = np.minimum(np.searchsorted(laid.row, np.arange(len(case))), len(laid.row) - 1)
        case = layer.batch[place]
    shift: NDArray[np.float64] = read_field(grid.in_cells(plan.xy_mm), case, grid.as_field(after))
    return shift + _row_corrections(plan, laid, layer, moved)


def _row_corrections(
    plan: StitchPlan, laid: LaidThread, layer: ThreadLayer, moved: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return (n, 2): what the raster is too coarse to see of each row's own closing.

    The law tells how far a row has closed when its own area is done; what the raster saw of that,
    from the row's batch to the area's last, is replaced by it.
    """
    rows, grid = layer.rows, layer.grid
    total = np.zeros((len(plan.xy_mm), 2))
    if not len(laid.row):
        return total
    first = np.flatnonzero(np.diff(rows.of_piece, prepend=-1))
    from_case = layer.batch[first]
    ids, area = np.unique(rows.region_id, return_inverse=True)
    last_case = np.zeros(len(ids), dtype=np.int64)
    np.maximum.at(last_case, area, from_case)
    to_case = last_case[area] + 1
    none_left = np.zeros((1, moved.shape[1]))
    after = grid.as_field(np.concatenate([np.cumsum(moved[::-1], axis=0)[::-1], none_left]))
    at_start, at_end = (
        read_field(grid.in_cells(p), from_case, after)
        - read_field(grid.in_cells(p), to_case, after)
        for p in (rows.start, rows.end)
    )
    chord = rows.end - rows.start
    span = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
    along = chord / span[:, None]
    seen = ((at_end - at_start) * along).sum(axis=1)
    extra = np.where(rows.length_mm > SHORTEST_MM, -layer.closing * span / rows.length_mm - seen, 0)
    # A place where two rows meet goes with the longer one.
    weight = rows.length_mm[rows.of_piece]
    weights = np.zeros(len(total))
    for ends in (laid.row - 1, laid.row):
        offset = plan.xy_mm[ends] - rows.start[rows.of_piece]
        share = (offset * along[rows.of_piece]).sum(axis=1) / span[rows.of_piece] - 0.5
        far = (weight * share * extra[rows.of_piece])[:, None] * along[rows.of_piece]
        np.add.at(total, ends, far)
        np.add.at(weights, ends, weight)
    result: NDArray[np.float64] = total / np.maximum(weights, 1e-9)[:, None]
    return result
