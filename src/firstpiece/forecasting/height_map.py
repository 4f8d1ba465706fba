"""How high thread lies over the front and the back of the cloth, from its volume.

Input: laid thread and a set-up. Output: two maps in mm. Thread is spread over each cell as if it
could flow there but not be pressed: a smooth upper bound.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.laid_thread import thread_section
from firstpiece.forecasting.lumps import BOBBIN_TEX, FILLED, LOOP_MM
from firstpiece.forecasting.thread_use import PULLED_FLAT, PULLED_SATIN
from firstpiece.kernels.thread_smear import smear_thread
from firstpiece.model.forecast import ForecastMap
from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.model.material import Setup
    from firstpiece.model.stitch import StitchPlan

# Cells of the map [mm]: fine for a badge, coarse for a jacket back.
FINE_MM, COARSE_MM, FINE_TO_MM = 0.5, 1.0, 120.0


def height_maps(
    plan: StitchPlan, laid: LaidThread, setup: Setup
) -> tuple[ForecastMap, ForecastMap]:
    """Return the height of thread on the front and on the back of the cloth [mm].

    Parameters
    ----------
    plan : StitchPlan
    laid : LaidThread
    setup : Setup

    Notes
    -----
    Height is thread volume over the share of room that thread fills and the cell's area, so heights
    times area add up to the volume. On the front lies the top thread along each stitch; on the back
    the bobbin thread, the top thread that is pulled through, and a loop at each stitch. Shares are
    the guesses of ``lumps`` and ``thread_use``.
    """
    ends = laid.segments_mm
    low = ends.reshape(-1, 2).min(axis=0) if len(ends) else np.zeros(2)
    high = ends.reshape(-1, 2).max(axis=0) if len(ends) else np.zeros(2)
    cell = FINE_MM if float((high - low).max()) <= FINE_TO_MM else COARSE_MM
    cols, rows = (math.ceil(float(v) / cell) + 2 for v in high - low)
    middle = (low + high) / 2
    corner = middle - np.array([cols, rows]) * cell / 2
    in_cells = np.ascontiguousarray((ends.reshape(-1, 2) - corner) / cell).reshape(-1, 4)
    front_mm2, back_mm2 = _sections(plan, laid, setup)
    maps = []
    for area in (front_mm2, back_mm2):
        # smear_thread gives Σ length·strain·n, and n's first two entries add up to 1.
        _, force = smear_thread(in_cells, area, np.zeros(len(area), np.int64), (rows, cols), 1)
        volume = (force[0, :, 0] + force[0, :, 1]).reshape(rows, cols) * cell
        height = volume[::-1] / (FILLED[1] * cell**2)
        top = float(corner[1]) + rows * cell
        maps.append(ForecastMap(height.astype(np.float32), float(corner[0]), top, cell, "mm"))
    return maps[0], maps[1]


def _sections(
    plan: StitchPlan, laid: LaidThread, setup: Setup
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the thread section over and under each piece [mm²]; loops go over its length."""
    top = np.array([thread_section(setup.thread, t.tex, 1.0).area_mm2 for t in plan.threads])
    front = top[laid.thread] if len(top) else np.zeros(0)
    satin = [t.region_id for t in plan.treatments if t.stitch_type is StitchType.SATIN]
    is_satin = np.isin(plan.region_id[laid.row], satin)
    pulled = 2.0 * np.where(is_satin, PULLED_SATIN[1], PULLED_FLAT[1])
    card = setup.thread
    bobbin = thread_section(card, BOBBIN_TEX[1], 1.0).area_mm2
    length = np.maximum(laid.lengths_mm, 0.1)
    back = pulled * front + (1.0 - pulled) * bobbin + front * LOOP_MM[1] / length
    return front, back
