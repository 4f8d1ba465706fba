"""Cloth drawn together: limits that hold for any thread and cloth, and the law behind the sizes."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import (
    LEAF,
    WHITE,
    filled_square,
    map_of,
    plan_of,
    rows_points,
    setup_on,
    square,
    treated,
    zigzag_points,
)
from tests.forecasting.stitch_by_stitch import Sheet, plane_stress, sew

from firstpiece.forecasting.area_shape import edge_gaps, moved_edges, settled_areas
from firstpiece.forecasting.closing_law import Sewing, closing_mm
from firstpiece.forecasting.cloth_sheet import orthotropic, pulled_stiffness, stiffness_along
from firstpiece.forecasting.laid_thread import lay_thread
from firstpiece.forecasting.precompensation import precompensate, suggest_pull_mm
from firstpiece.forecasting.settle import settle_cloth
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.measured import Certainty
from firstpiece.model.stitch import Role, StitchType

TEE, APRON = setup_on("tee-white"), setup_on("apron-natural")
NO_TENSION = Sewing(tension_n=0.0)


def column(width, spacing=0.4, length=16.0, **place):
    kind = treated(kind=StitchType.SATIN, spacing=spacing)
    return plan_of(
        (zigzag_points(width, length, spacing, **place), 0, 0, Role.COVER), treatments=(kind,)
    )


def settle(plan, setup=TEE, **sewing):
    return settle_cloth(plan, setup, lay_thread(plan), **sewing)


def narrowing(plan, setup=TEE, **sewing):
    """How much narrower a column lies in its middle third."""
    moved = settle(plan, setup, **sewing).points_mm - plan.xy_mm
    stitches = np.flatnonzero(plan.is_stitch)
    middle = stitches[len(stitches) // 3 : 2 * len(stitches) // 3]
    side = np.sign(plan.xy_mm[middle, 0] - plan.xy_mm[stitches, 0].mean())
    return -2 * float((moved[middle, 0] * side).mean())


def test_no_tension_moves_nothing():
    plan, _ = filled_square(20.0)
    np.testing.assert_array_equal(settle(plan, sewing=NO_TENSION).points_mm, plan.xy_mm)


def test_an_empty_plan_settles_to_itself():
    plan = plan_of()
    np.testing.assert_array_equal(settle(plan).points_mm, plan.xy_mm)


@settings(max_examples=6, deadline=None)
@given(st.floats(-70, 70), st.floats(-70, 70))
def test_settling_moves_with_the_design(x, y):
    here, there = column(5.0), column(5.0, x=x, y=y)
    first, second = (settle(p).points_mm - p.xy_mm for p in (here, there))
    np.testing.assert_allclose(second, first, atol=1e-6)


def test_more_tension_draws_more():
    plan = column(4.0)
    drawn = [narrowing(plan, sewing=Sewing(t, 0.3)) for t in (0.3, 0.5, 1.0)]
    # The knit stiffens a little as it is drawn.
    assert drawn[0] == pytest.approx(drawn[1] * 0.6, rel=1e-3)
    assert drawn == sorted(drawn)


@pytest.mark.parametrize("width", [1.0, 2.0, 4.0, 8.0])
def test_a_column_narrows_by_the_law(width):
    plan = column(width)
    law = settle(plan).closing_mm
    # Sheet and hoop change a little: the hoop comes off and the backing round it goes.
    assert narrowing(plan) == pytest.approx(float(np.median(law)), rel=0.12)


def test_firm_backing_draws_less():
    soft, firm = (
        replace(TEE, backing=replace(TEE.backing, stiffness=replace(
            TEE.backing.stiffness, value=v, low=v, high=v)))
        for v in (2000.0, 10000.0)
    )  # fmt: skip
    assert narrowing(column(4.0), firm) < 0.4 * narrowing(column(4.0), soft)


def test_a_knit_without_backing_is_not_given_a_number():
    none = replace(TEE.backing.stiffness, value=1.0, low=1.0, high=1.0)
    bare = replace(TEE, backing=replace(TEE.backing, stiffness=none))
    plan = column(4.0)
    forecast = forecast_sewout(plan, region_map=map_of((shapely.box(-2, -8, 2, 8), 0)), setup=bare)
    assert forecast.settled_mm is None
    assert forecast.settled_areas == ()
    found = next(f for f in forecast.findings if f.code == "needs-backing")
    assert found.remedies[0].action == "backing"
    backed = forecast_sewout(plan, region_map=map_of((shapely.box(-2, -8, 2, 8), 0)), setup=TEE)
    assert backed.settled_mm is not None
    assert "needs-backing" not in {f.code for f in backed.findings}


def test_a_disc_sewn_in_rows_becomes_an_oval():
    radius = 12.5
    heights = np.arange(-radius + 0.19, radius, 0.38)
    points = []
    for i, h in enumerate(heights):
        half = np.sqrt(radius**2 - h**2)
        line = np.linspace(-half, half, max(2, int(half / 2) + 1))
        points += [(x, h) for x in (line if i % 2 == 0 else line[::-1])]
    plan = plan_of((np.array(points), 0, 0, Role.COVER),
                   treatments=(replace(treated(), pull_mm=0.0),))  # fmt: skip
    areas = map_of((shapely.Point(0, 0).buffer(radius, 64), 0))
    settled = settle(plan)
    shape = settled_areas(plan, areas, TEE, settled, moved_edges(plan, areas, settled))[0]
    assert shape.along_mm < -0.2
    assert abs(shape.across_mm) < 0.5 * abs(shape.along_mm)
    assert shape.drawn_in.certainty is Certainty.DEFAULT
    assert shape.drawn_in.band.p95 > 3 * shape.drawn_in.band.p50


def filled_and_bordered(pull_mm):
    """A filled square and, sewn afterwards, a filled neighbour to its right with upright rows."""
    left = rows_points(20.0, 0.38, x=-10.0)
    left[:, 0] += np.sign(left[:, 0] + 10.0) * np.where(np.abs(left[:, 0] + 10) > 9.9, pull_mm, 0)
    right = rows_points(20.0, 0.38)[:, ::-1] + [10.0, 0.0]
    plan = plan_of(
        (left, 0, 0, Role.COVER), (right, 1, 1, Role.COVER), threads=(WHITE, LEAF),
        treatments=(replace(treated(0), pull_mm=pull_mm),
                    replace(treated(1, thread=1, order=1), angle_rad=np.pi / 2, pull_mm=0.0)),
    )  # fmt: skip
    return plan, map_of((square(20, -10), 0), (square(20, 10), 1), threads=(WHITE, LEAF))


def test_a_gap_opens_beside_a_fill_and_widening_closes_it():
    plan, areas = filled_and_bordered(0.0)
    forecast = forecast_sewout(plan, region_map=areas, setup=TEE)
    gap = forecast.gaps[0]
    assert {gap.first_id, gap.second_id} == {0, 1}
    assert gap.where_mm[0] == pytest.approx(0.0, abs=0.01)
    assert 0.05 < gap.width.band.p50 < 0.5
    plan, areas = filled_and_bordered(gap.width.band.p50 + 0.05)
    settled = settle(plan)
    assert edge_gaps(moved_edges(plan, areas, settled), TEE) == ()


def test_a_gap_note_offers_to_widen_the_area_sewn_first():
    # A soft backing opens the gap wide enough to be told.
    soft = replace(TEE, backing=replace(TEE.backing, stiffness=replace(
        TEE.backing.stiffness, value=2000.0)))  # fmt: skip
    plan, areas = filled_and_bordered(0.0)
    found = forecast_sewout(plan, region_map=areas, setup=soft).findings
    gap = next(f for f in found if f.code == "gap-opens")
    assert gap.remedies[0].action == "pull"
    assert gap.remedies[0].region_id == 0
    assert "sewn swatch" in gap.reason


def test_precompensation_converges_against_the_model():
    plan, _ = filled_square(16.0)
    result = precompensate(plan, TEE)
    assert result.error_mm[1] < 0.35 * result.error_mm[0]
    assert result.error_mm[-1] < 0.1 * result.error_mm[0]
    settled = settle(replace(plan, xy_mm=result.needle_mm)).points_mm
    assert np.abs(settled - plan.xy_mm)[plan.is_stitch].max() < 0.03
    rows = settle(plan)
    mean = float(rows.closing_mm[rows.rows.length_mm > 10].mean())
    assert suggest_pull_mm(plan, result)[0] == pytest.approx(mean / 2, rel=0.2)


def test_pulls_meet_the_mean_stiffness_of_an_orthotropic_sheet():
    """E∥^¾·E⊥^¼ against single stitches on a sheet of 1 by 4 N/mm (25 %: the distance
    over the disc's size changes with the axis too)."""
    across, along, poisson = 1.0, 4.0, 0.3
    shear = np.sqrt(across * along) / (2 * (1 + poisson))
    moduli = orthotropic(across, along, shear, poisson)
    sheet = Sheet(96, 0.5, moduli)
    stitches = [((-2.0, 0.0), (2.0, 0.0)), ((0.0, -2.0), (0.0, 2.0))]
    closing = np.diag(sheet.compliance(stitches, 0.5))
    held = pulled_stiffness(moduli, np.array([0.0, np.pi / 2]))
    assert closing[0] / closing[1] == pytest.approx(held[1] / held[0], rel=0.25)
    np.testing.assert_allclose(stiffness_along(moduli, np.array([0, np.pi / 2])), [1.0, 4.0])


def zigzag_stitches(width, spacing, n=36):
    k = np.arange(n + 1)
    x = np.where(k % 2 == 0, -width / 2, width / 2)
    points = np.column_stack([x, (k - n / 2) * spacing / 2])
    return list(pairwise(points))


SHEET = {}


def stitched(width, spacing):
    sheet = SHEET.setdefault("fine", Sheet(176, 0.25, plane_stress(1.0)))
    return sheet.compliance(zigzag_stitches(width, spacing), 0.25)


def law(width, spacing, slip):
    one = np.array([width]), np.array([spacing]), np.array([True]), np.array([1.0])
    return float(closing_mm(*one, Sewing(1.0, slip))[0])


@pytest.mark.slow
@pytest.mark.parametrize(("width", "spacing"), [(2.0, 0.4), (4.0, 0.8), (3.0, 0.5)])
def test_the_law_is_what_stitch_by_stitch_sewing_gives(width, spacing):
    compliance = stitched(width, spacing)
    for slip in (0.1, 0.3, 0.5):
        closing, _ = sew(compliance, 1.0, slip=slip)
        # Widths and spacings between the table's are read linearly: 10 %.
        assert law(width, spacing, slip) == pytest.approx(closing[12:24].mean(), rel=0.1)


def test_slip_decides_whether_closer_columns_draw_less():
    locked, slipping = ([law(4.0, spacing, slip) for spacing in (0.8, 0.4)] for slip in (0.1, 0.5))
    assert locked[1] < 0.7 * locked[0]
    assert slipping[1] > slipping[0]
