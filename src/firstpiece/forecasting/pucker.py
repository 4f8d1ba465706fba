"""Which areas are likeliest to pucker, and what would lower it: a ranking, with no threshold.

Input: a settled plan. Output: areas by how far their thread wants to draw the cloth together.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.closing_law import closing_mm
from firstpiece.forecasting.cloth_sheet import (
    SheetStiffness,
    backing_moduli,
    cloth_moduli,
    pulled_stiffness,
)
from firstpiece.forecasting.pull_band import scaled_figure
from firstpiece.model.forecast import PuckerRank
from firstpiece.model.measured import Band, Figure

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.settle import Settled
    from firstpiece.forecasting.thread_rows import ThreadRows
    from firstpiece.model.material import Setup

# Rows shorter than this are steps and corners.
SHORTEST_ROW_MM = 0.8
WIDER, FIRMER = 1.2, 2.0
# Percent beyond which a linear sheet has nothing to say; bands end there.
LINEAR_TO = 30.0
BASIS = "closing law over an area's rows; a ranking, cut off at 30 % where linear theory ends"


def rank_pucker(settled: Settled, setup: Setup) -> tuple[PuckerRank, ...]:
    """Return the areas by excess contraction, the worst first.

    Parameters
    ----------
    settled : Settled
    setup : Setup

    Notes
    -----
    Contraction is Σ closing / Σ length over an area's rows: what the sheet must lose in length.
    Whether it buckles hangs on how the piece is held, so no limit is given: the critical
    contraction of one jersey disc runs from 0.3 % to 20 % with its surroundings (own plate model).
    A hooped piece does not show its pucker until it is taken off. Alternatives are reckoned by the
    closing law alone.
    """
    rows = settled.rows
    used = rows.length_mm > SHORTEST_ROW_MM
    found = []
    for region_id in np.unique(rows.region_id[used]):
        own = used & (rows.region_id == region_id)
        total = float(rows.length_mm[own].sum())
        share = 100.0 * float(settled.closing_mm[own].sum()) / total
        figure = scaled_figure(share, setup)
        band = figure.band
        ends = (min(v, LINEAR_TO) for v in (band.p05, band.p50, band.p95))
        found.append(
            PuckerRank(
                region_id=int(region_id),
                contraction=Figure(Band(*ends), "%", figure.certainty, BASIS),
                lowers=_what_lowers(rows, own, setup),
            )
        )
    return tuple(sorted(found, key=lambda r: (-r.contraction.band.p50, r.region_id)))


def _what_lowers(
    rows: ThreadRows, own: NDArray[np.bool_], setup: Setup
) -> tuple[tuple[str, float], ...]:
    """Return the verbs that lower the contraction with the share that is left, best first."""
    sheet = SheetStiffness.of_cards(setup.fabric, setup.backing)
    firm = SheetStiffness(sheet.across, sheet.along, sheet.shear, FIRMER * sheet.backing)

    def closing(stiff: SheetStiffness, turn: float, wider: float) -> float:
        moduli = cloth_moduli(stiff) + backing_moduli(stiff)
        held = pulled_stiffness(moduli, rows.angle_rad[own] + turn)
        spacing = rows.spacing_mm[own] * wider
        each = closing_mm(rows.length_mm[own], spacing, rows.is_column[own], held)
        # Wider spacing also means fewer rows to draw the same cloth.
        return float(each.sum()) / wider

    now = closing(sheet, 0.0, 1.0)
    trials = (
        ("backing", closing(firm, 0.0, 1.0)),
        ("angle", closing(sheet, math.pi / 2, 1.0)),
        ("spacing", closing(sheet, 0.0, WIDER)),
    )
    lower = [(verb, round(left / now, 3)) for verb, left in trials if now > 0 and left < 0.98 * now]
    return tuple(sorted(lower, key=lambda entry: entry[1]))
