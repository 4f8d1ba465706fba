"""A forecast with chosen figures, and the shipped cards, for pricing tests."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.forecast import Forecast, ForecastMap, ThreadUse
from firstpiece.model.measured import Band, Certainty, Figure

if TYPE_CHECKING:
    from firstpiece.model.material import Setup
    from firstpiece.model.quote import PriceCard


def make_forecast(
    n_stitches: int = 8000, *, minutes: float = 12.0, top_m: float = 40.0, bobbin_m: float = 15.0
) -> Forecast:
    def figure(value: float, unit: str) -> Figure:
        return Figure(Band.exact(value), unit, Certainty.COMPUTED, "given")

    return Forecast(
        regions=(),
        lumps=(),
        thread_use=(ThreadUse(0, figure(top_m, "m")),),
        bobbin_m=figure(bobbin_m, "m"),
        sewing_minutes=figure(minutes, "min"),
        n_stitches=n_stitches,
        n_trims=3,
        n_color_changes=1,
        layers=ForecastMap(np.zeros((1, 1), np.float32), 0.0, 0.0, 1.0, "layers"),
        findings=(),
    )


@pytest.fixture(scope="session")
def card() -> PriceCard:
    return CardDrawer().prices()


@pytest.fixture(scope="session")
def setup() -> Setup:
    return CardDrawer().setup("apron-natural")
