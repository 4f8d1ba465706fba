"""Where the needle would have to go for the piece to come out as drawn, by the model.

Input: a plan and a set-up. Output: needle places, and how far from the drawing each round ends. A
pure function for whoever plans; converges against the model only, not against cloth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.closing_law import USUAL
from firstpiece.forecasting.laid_thread import lay_thread
from firstpiece.forecasting.settle import settle_cloth
from firstpiece.forecasting.thread_rows import find_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.closing_law import Sewing
    from firstpiece.model.material import Setup
    from firstpiece.model.stitch import StitchPlan


@dataclass(frozen=True, slots=True, eq=False)
class Precompensation:
    """Needle places that settle to the wanted ones.

    Parameters
    ----------
    needle_mm : (n, 2) float64 [mm]
    error_mm : tuple of float [mm]
        Largest distance of a stitch from its wanted place, uncompensated and after each round.
    """

    needle_mm: NDArray[np.float64]
    error_mm: tuple[float, ...]


def precompensate(
    plan: StitchPlan, setup: Setup, *, sewing: Sewing = USUAL, rounds: int = 3
) -> Precompensation:
    """Return the needle places from which the plan settles to its own drawn places.

    Parameters
    ----------
    plan : StitchPlan
        Drawn without pull compensation.
    setup : Setup
    sewing : Sewing
    rounds : int
        Rounds of the fixed point needle += wanted − settled; two or three do.

    Notes
    -----
    Moves stitches, adds none: rows end further out by what they are drawn in. As sure as the model
    itself, so with shipped cards good for a ranking of areas and not for tenths of a millimetre.
    """
    wanted, is_stitch = plan.xy_mm, plan.is_stitch
    needle = wanted.copy()
    errors = []
    for step in range(rounds + 1):
        moved = replace(plan, xy_mm=needle)
        settled = settle_cloth(moved, setup, lay_thread(moved), sewing=sewing).points_mm
        miss = wanted - settled
        sewn = miss[is_stitch]
        errors.append(float(np.hypot(sewn[:, 0], sewn[:, 1]).max()) if len(sewn) else 0.0)
        if step < rounds:
            needle = needle + miss
    return Precompensation(needle, tuple(errors))


def suggest_pull_mm(plan: StitchPlan, compensated: Precompensation) -> dict[int, float]:
    """Return per area the widening of each side along the stitch that the field amounts to [mm]."""
    rows = find_rows(plan, lay_thread(plan))
    moved = compensated.needle_mm - plan.xy_mm
    along = np.column_stack([np.cos(rows.angle_rad), np.sin(rows.angle_rad)])
    longer = ((moved[rows.last_row] - moved[rows.first_row]) * along).sum(axis=1)
    found = {}
    for treatment in plan.treatments:
        own = (rows.region_id == treatment.region_id) & (rows.length_mm > 0.5)
        if own.any():
            found[treatment.region_id] = round(float(longer[own].mean()) / 2, 3)
    return found
