"""Outlines set out by the forecast: the settled shape comes nearer to the drawing, and says so."""

from dataclasses import replace

import shapely
from tests.forecasting.sewing import WHITE, map_of, setup_on

from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.forecasting.true_shape import aim_outlines
from firstpiece.model.stitch import StitchSpec, StitchType
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on("tee-white")
DISC = shapely.Point(0, 0).buffer(9.0, quad_segs=24)
BAR = shapely.box(-12.0, -24.0, 12.0, -12.0)
DESIGN = map_of((DISC, 0), (BAR, 0), threads=(WHITE,))


def settled(plan, outlines):
    found = forecast_sewout(plan, region_map=DESIGN, setup=SETUP, outlines=outlines)
    return {a.region_id: a for a in found.settled_areas}, found


def test_the_settled_shape_comes_nearer_to_the_drawing():
    plan = plan_stitches(DESIGN, setup=SETUP)
    first = aim_outlines(plan, drawn=DESIGN, setup=SETUP)
    second_plan = plan_stitches(DESIGN, setup=SETUP, outlines=first.outlines)
    second = aim_outlines(second_plan, drawn=DESIGN, setup=SETUP, outlines=first.outlines)
    assert second.mean_mm < 0.5 * first.mean_mm
    assert second.p95_mm < first.p95_mm
    # Planning leaves the widening to the outlines.
    assert all(t.pull_mm == 0 for t in second_plan.treatments
               if t.stitch_type is StitchType.FILL)  # fmt: skip
    after, told_after = settled(second_plan, first.outlines)
    assert "oval" not in {f.code for f in told_after.findings}
    # The forecast's own outline lies on the drawn one as closely as was said.
    edge = shapely.points(shapely.get_coordinates(after[0].outline))
    assert shapely.distance(edge, DISC.boundary).mean() < 0.12


def test_a_disc_that_nothing_widens_comes_out_oval():
    soft = SETUP.backing.stiffness
    loose = replace(SETUP, backing=replace(SETUP.backing, stiffness=replace(
        soft, value=0.4 * soft.value, low=0.3 * soft.low)))  # fmt: skip
    plan = plan_stitches(DESIGN, setup=loose, specs={0: StitchSpec(pull_mm=0.0)})
    found = forecast_sewout(plan, region_map=DESIGN, setup=loose)
    (oval,) = [f for f in found.findings if f.code == "oval"]
    assert oval.measured > oval.limit
    assert oval.remedies[0].action == "true_shape"
    assert "swatch" in oval.reason


def test_no_outlines_where_the_model_has_nothing_to_say():
    soft = SETUP.backing.stiffness
    bare = replace(SETUP, backing=replace(SETUP.backing, stiffness=replace(
        soft, value=1.0, low=0.5)), fabric=replace(
        SETUP.fabric, stretch_across=replace(SETUP.fabric.stretch_across, value=20.0, low=1.0),
        stretch_along=replace(SETUP.fabric.stretch_along, value=20.0, low=1.0)))  # fmt: skip
    plan = plan_stitches(DESIGN, setup=bare)
    aim = aim_outlines(plan, drawn=DESIGN, setup=bare)
    assert aim.outlines == aim.widen_mm == {}
