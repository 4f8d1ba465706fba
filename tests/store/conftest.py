"""Small values to store."""

from __future__ import annotations

import pytest
import shapely

from firstpiece.model.material import ThreadColor
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchPlan, StitchType, Treatment, Underlay

GREEN = ThreadColor("moss", (62, 138, 58), 26.7)


@pytest.fixture
def ring_map():
    outer = shapely.box(-10, -10, 10, 10)
    hole = shapely.box(-4, -4, 4, 4)
    regions = (Region(0, outer - hole, 0), Region(1, hole, BARE))
    return RegionMap(regions, (ColorMatch((60, 140, 60), GREEN, 1.5),), 20.0, 20.0)


@pytest.fixture
def small_plan():
    xy = [(0.0, 0.0), (1.234, -0.001), (2.5, 3.75), (2.5, 3.75)]
    treatment = Treatment(
        0, StitchType.FILL, 0.5, 0.38, 3.5, (Underlay.EDGE_RUN,), 0.2, 0, 0, 3, "wide area"
    )
    return StitchPlan(
        xy_mm=xy,
        action=[Action.STITCH, Action.STITCH, Action.STITCH, Action.END],
        thread=[0, 0, 0, 0],
        region_id=[0, 0, 0, -1],
        role=[Role.COVER] * 4,
        threads=(GREEN,),
        treatments=(treatment,),
    )
