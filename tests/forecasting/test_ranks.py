"""Rankings: pucker, drape, needle holes. No threshold is claimed, so only orders are tested."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.forecasting.sewing import (
    filled_square,
    map_of,
    plan_of,
    rows_points,
    setup_on,
    square,
    treated,
    zigzag_points,
)

from firstpiece.forecasting.hole_lines import hole_lines, nearest_holes_mm
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.material import Needle
from firstpiece.model.stitch import Role, StitchType

TEE = setup_on("tee-white")


def sewn(plan, areas, setup=TEE):
    return forecast_sewout(plan, region_map=areas, setup=setup)


def two_areas():
    """A narrow satin column and a broad fill."""
    plan = plan_of(
        (zigzag_points(2.0, 16.0, 0.4, x=-15.0), 0, 0, Role.COVER),
        (rows_points(16.0, 0.38, x=5.0), 0, 1, Role.COVER),
        treatments=(treated(0, kind=StitchType.SATIN, spacing=0.4), treated(1, order=1)),
    )
    return plan, map_of((shapely.box(-16, -8, -14, 8), 0), (square(16.0, 5.0), 0))


def test_narrow_columns_draw_hardest_for_their_length():
    ranks = sewn(*two_areas()).pucker
    assert [r.region_id for r in ranks] == [0, 1]
    assert ranks[0].contraction.band.p50 > 2 * ranks[1].contraction.band.p50
    assert ranks[0].contraction.unit == "%"


def test_firmer_backing_is_offered_and_lowers_it_as_told():
    plan, areas = filled_square(16.0)
    rank = sewn(plan, areas).pucker[0]
    verbs = dict(rank.lowers)
    card = TEE.backing.stiffness
    firm = replace(TEE, backing=replace(TEE.backing, stiffness=replace(
        card, value=2 * card.value, high=4 * card.value)))  # fmt: skip
    left = sewn(plan, areas, firm).pucker[0].contraction.band.p50 / rank.contraction.band.p50
    assert verbs["backing"] == pytest.approx(left, abs=0.02)


def test_patch_on_a_tee_hangs_stiffer_than_cloth_and_more_layers_stiffer_still():
    plan, areas = filled_square(16.0)
    points = rows_points(16.0, 0.38)
    twice = plan_of(
        (points, 0, 0, Role.UNDERLAY), (points[:, ::-1].copy(), 0, 0, Role.COVER),
        treatments=(treated(),),
    )  # fmt: skip
    once, double = (sewn(p, areas).drape[0] for p in (plan, twice))
    assert once.after_mm > once.before_mm
    assert double.times_stiffer > once.times_stiffer
    heavy = sewn(plan, areas, setup_on("apron-natural")).drape[0]
    assert heavy.times_stiffer < once.times_stiffer


def test_hole_distances_of_a_grid():
    x, y = np.meshgrid(np.arange(10) * 0.8, np.arange(10) * 0.5)
    points = np.column_stack([x.ravel(), y.ravel()])
    np.testing.assert_allclose(nearest_holes_mm(points), 0.5)
    # Sewn a second time through the same holes: nothing new.
    np.testing.assert_allclose(nearest_holes_mm(np.concatenate([points, points])), 0.5)
    assert nearest_holes_mm(points[:1]).size == 0


def test_satin_edge_is_a_line_of_holes():
    plan, _ = two_areas()
    lines = {line.region_id: line for line in hole_lines(plan, Needle(75, "sharp"))}
    assert lines[0].edge_pitch_mm == pytest.approx(0.4)
    wide, middle, narrow = lines[0].cloth_left
    assert (wide, middle, narrow) == pytest.approx((1 - 1.5, 1 - 0.84375, 1 - 0.375))
    assert lines[1].edge_pitch_mm is None
    fine = next(x for x in hole_lines(plan, Needle(65, "ball")) if x.region_id == 0)
    assert fine.cloth_left[1] > middle


def test_close_satin_on_a_thick_needle_is_noted():
    setup = replace(TEE, needle=Needle(110, "sharp"))
    plan, areas = two_areas()
    noted = {f.code: f for f in sewn(plan, areas, setup).findings}
    finding = noted["perforated-edge"]
    assert finding.region_id == 0
    assert finding.remedies[0].value > 0.4
    assert "perforated-edge" not in {f.code for f in sewn(plan, areas).findings}
