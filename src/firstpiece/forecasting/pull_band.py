"""How far the size of the draw may lie from its middle, given what is guessed.

Input: a set-up. Output: a factor's band, and figures in mm that carry it. The shape of the field
hardly hangs on the guesses; its size hangs on tension over stiffness and on slip.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.bands import corner_band, range_of
from firstpiece.forecasting.closing_law import SLIP_RANGE, TENSION_RANGE, Sewing, closing_mm
from firstpiece.forecasting.cloth_sheet import (
    SheetStiffness,
    backing_moduli,
    cloth_moduli,
    pulled_stiffness,
)
from firstpiece.model.measured import Band, Certainty, Figure

if TYPE_CHECKING:
    from firstpiece.model.material import Backing, Fabric, Setup

# A middling column, whose closing stands for all.
COLUMN_MM, SPACING_MM = 4.0, 0.4
BASIS = "membrane of cloth and backing; thread tension, slip and backing stiffness are guesses"


@cache
def size_band(fabric: Fabric, backing: Backing) -> Band:
    """Return by what factor the draw may differ from the middle of the cards.

    Corners of tension (0.3, 0.5, 1 N), slip (0.1, 0.3, 0.5), cloth and backing stiffness; all are
    guesses or spans, so the band is wide: not known without a sewn swatch.
    """
    middle = SheetStiffness.of_cards(fabric, backing)

    def closing(tension: float, slip: float, cloth: float, sheet: float) -> float:
        stiff = SheetStiffness(
            middle.across * cloth, middle.along * cloth, middle.shear * cloth, sheet * 1e-3
        )
        moduli = cloth_moduli(stiff) + backing_moduli(stiff)
        one = np.array([COLUMN_MM])
        held = pulled_stiffness(moduli, np.zeros(1))
        spacing, column = np.array([SPACING_MM]), np.array([True])
        return float(closing_mm(one, spacing, column, held, Sewing(tension, slip))[0])

    along = fabric.stretch_along
    cloth_range = (along.low / along.value, 1.0, along.high / along.value)
    ranges = (TENSION_RANGE, SLIP_RANGE, cloth_range, range_of(backing.stiffness))
    band = corner_band(closing, ranges)
    return Band(band.p05 / band.p50, 1.0, band.p95 / band.p50)


def scaled_figure(drawn_mm: float, setup: Setup, *, less: float = 0.0) -> Figure:
    """Return a length made by the draw, less a length known exactly [mm], with its band."""
    band = size_band(setup.fabric, setup.backing)
    ends = sorted(drawn_mm * factor - less for factor in (band.p05, 1.0, band.p95))
    # Tension and slip are on no card, so no card can make this figure calibrated yet.
    return Figure(Band(ends[0], ends[1], ends[2]), "mm", Certainty.DEFAULT, BASIS)
