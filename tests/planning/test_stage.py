"""The whole stage on plates, lines, dots and rings whose right answer is known."""

import math
import time

import numpy as np
import pytest
import shapely
from tests.properties.strategies import make_map, setup_on

from firstpiece.errors import InputError
from firstpiece.kernels.coverage import Grid, count_layers
from firstpiece.model.finding import Severity
from firstpiece.model.hooping import needle_places, smallest_hoop
from firstpiece.model.region import BARE, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchSpec, StitchType, Underlay
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on()
THREAD_MM = SETUP.thread.laid_width_mm
PLATE = shapely.box(-20, -20, 20, 20)
ROUND = shapely.Point(0, 0).buffer(20)


def covered_share(plan, polygon, inset=0.2, pixel=0.1):
    """Return the share of an area, more than ``inset`` inside its rim, that lies under thread."""
    x0, y0, x1, y1 = polygon.bounds
    grid = Grid(x0, y1, pixel, int((y1 - y0) / pixel) + 1, int((x1 - x0) / pixel) + 1)
    rows = plan.sewn_segments()
    segments = np.hstack([plan.xy_mm[rows - 1], plan.xy_mm[rows]])
    layers = count_layers(segments, np.full(len(rows), THREAD_MM / 2), grid)
    x = grid.left_mm + (np.arange(grid.n_cols) + 0.5) * pixel
    y = grid.top_mm - (np.arange(grid.n_rows) + 0.5) * pixel
    inside = shapely.contains_xy(polygon.buffer(-inset), *np.meshgrid(x, y))
    return float((layers[inside] > 0).mean())


def treatment(plan, region_id=0):
    return next(t for t in plan.treatments if t.region_id == region_id)


@pytest.mark.parametrize(
    ("shape", "kind"),
    [
        (PLATE, StitchType.FILL),
        (ROUND, StitchType.FILL),
        (shapely.LineString([(-20, 0), (20, 0)]).buffer(1.5, cap_style="flat"), StitchType.SATIN),
        (shapely.Point(0, 0).buffer(12).boundary.buffer(1.2), StitchType.SATIN),
        (shapely.LineString([(-20, 0), (0, 6), (20, 0)]).buffer(0.3), StitchType.RUNNING),
    ],
)
def test_width_decides_the_stitch_type(shape, kind):
    # Satin from about 1 mm to 7 mm, running below, fill above: common practice, no source.
    region_map = make_map([shape])
    plan = plan_stitches(region_map, setup=SETUP)
    assert treatment(plan).stitch_type is kind
    assert covered_share(plan, region_map.regions[0].polygon) >= 0.985


@pytest.mark.parametrize("garment", ["tee-white", "apron-natural", "towel-white"])
@pytest.mark.parametrize("angle", [0.0, 0.4, math.pi / 2])
def test_fills_close_on_every_cloth_and_angle(garment, angle):
    shape = ROUND.difference(shapely.box(-3, -8, 3, 2))
    plan = plan_stitches(
        make_map([shape]), setup=setup_on(garment), specs={0: StitchSpec(angle_rad=angle)}
    )
    assert covered_share(plan, shape) >= 0.995
    assert plan.count(Action.TRIM) == 0
    assert plan.count(Action.JUMP) == 0


def test_a_fill_takes_little_more_than_its_rows_need():
    """Bound: one penetration a row and one a stitch length, rows + length / stitch.

    The bound counts a row's turn once; a sewn row has a penetration at both ends.
    """
    spec = StitchSpec(angle_rad=0.0, row_spacing_mm=0.4, stitch_length_mm=4.0, underlay=())
    plan = plan_stitches(make_map([PLATE]), setup=SETUP, specs={0: spec})
    n_rows = 40 / 0.4
    bound = n_rows + n_rows * 40 / 4.0
    assert bound <= plan.n_stitches <= 1.15 * bound + 20


def test_rows_are_staggered():
    spec = StitchSpec(angle_rad=0.0, underlay=())
    plan = plan_stitches(make_map([PLATE]), setup=SETUP, specs={0: spec})
    xy = plan.xy_mm[plan.is_stitch & (plan.role == Role.COVER)]
    inner = xy[np.abs(xy[:, 0]) < 17]
    phases = np.mod(inner[:, 0], 3.5)
    rows = np.unique(inner[:, 1], return_inverse=True)[1]
    first = np.array([phases[rows == r][0] for r in range(rows.max() + 1)])
    apart = np.abs(np.diff(first))
    assert np.minimum(apart, 3.5 - apart).min() >= 0.25 * 3.5 - 0.05


def test_all_travel_of_a_fill_lies_under_later_rows():
    holes = shapely.MultiPoint([(x, y) for x in (-9, 0, 9) for y in (-9, 0, 9)]).buffer(2)
    shape = ROUND.difference(holes)
    plan = plan_stitches(make_map([shape]), setup=SETUP)
    last_cover = np.flatnonzero(plan.role == Role.COVER)[-1]
    travel = np.flatnonzero((plan.role == Role.TRAVEL) & plan.is_stitch)
    assert len(travel)
    assert travel.max() < last_cover
    # Cells behind the walk are already sewn; only short moves along a row's end lie on them.
    steps = np.hypot(*(plan.xy_mm[travel] - plan.xy_mm[travel - 1]).T).sum()
    assert steps <= 0.22 * shape.area / 0.378


def test_wishes_are_taken_as_given():
    spec = StitchSpec(
        stitch_type=StitchType.FILL, angle_rad=0.25, row_spacing_mm=0.6, stitch_length_mm=2.0,
        underlay=(Underlay.EDGE_RUN,), pull_mm=0.05,
    )  # fmt: skip
    made = treatment(plan_stitches(make_map([PLATE]), setup=SETUP, specs={0: spec}))
    assert (made.angle_rad, made.spacing_mm, made.stitch_length_mm) == (0.25, 0.6, 2.0)
    assert made.underlay == (Underlay.EDGE_RUN,)
    assert made.pull_mm == 0.05


def test_a_wished_order_is_kept():
    shapes = [shapely.box(15 * k, 0, 15 * k + 10, 10) for k in range(4)]
    region_map = make_map(shapes)
    specs = {3: StitchSpec(order=0), 0: StitchSpec(order=3)}
    plan = plan_stitches(region_map, setup=SETUP, specs=specs)
    assert treatment(plan, 3).sewn_order == 0
    assert treatment(plan, 0).sewn_order == 3


def test_outlines_and_details_come_after_what_they_lie_on():
    outline = ROUND.buffer(1).difference(ROUND)
    dot = shapely.Point(3, 3).buffer(3)
    region_map = make_map([outline, ROUND, dot])
    plan = plan_stitches(region_map, setup=SETUP)
    by_area = {r.id: r.polygon.area for r in region_map.regions}
    body = max(by_area, key=by_area.get)
    order = {t.region_id: t.sewn_order for t in plan.treatments}
    assert order[body] == 0


def test_travel_under_a_later_outline_saves_the_cut():
    outline = shapely.box(0, 0, 21, 10)
    panes = [shapely.box(1.5, 1.5, 9.5, 8.5), shapely.box(11.5, 1.5, 19.5, 8.5)]
    region_map = make_map([outline, *panes], threads=[1, 0, 0])
    plan = plan_stitches(region_map, setup=SETUP)
    assert plan.count(Action.TRIM) == 0
    assert plan.count(Action.COLOR_CHANGE) == 1


def test_far_areas_of_one_thread_are_cut_and_tied():
    shapes = [shapely.box(0, 0, 10, 10), shapely.box(40, 0, 50, 10)]
    plan = plan_stitches(make_map(shapes, threads=[0, 0]), setup=SETUP)
    assert plan.count(Action.TRIM) == 1
    assert np.count_nonzero(plan.role == Role.TIE) >= 4 * 3


def test_a_design_beyond_every_hoop_is_refused_with_the_size_that_clears():
    wide = shapely.box(0, 0, 400, 100)
    plan = plan_stitches(make_map([wide]), setup=SETUP)
    found = next(f for f in plan.findings if f.code == "no-hoop-clears")
    assert found.severity is Severity.BLOCK
    height = float(found.remedies[0].value)
    smaller = needle_places(plan) * height / np.ptp(needle_places(plan), axis=0)[1]
    assert smallest_hoop(smaller, SETUP.hoops) is not None


def test_more_threads_than_needles_stop_the_machine():
    from dataclasses import replace

    few = replace(SETUP, machine=replace(SETUP.machine, needles=2))
    shapes = [shapely.box(15 * k, 0, 15 * k + 10, 10) for k in range(4)]
    plan = plan_stitches(make_map(shapes), setup=few)
    assert plan.count(Action.STOP) == 2
    assert "too-few-needles" in {f.code for f in plan.findings}
    assert not plan_stitches(make_map(shapes), setup=SETUP).count(Action.STOP)


def test_a_jump_longer_than_the_machine_card_says_is_cut():
    from dataclasses import replace

    shapes = [shapely.box(0, 0, 10, 1.2), shapely.box(12.6, 0, 22.6, 1.2)]
    spec = {k: StitchSpec(stitch_type=StitchType.SATIN) for k in (0, 1)}
    patient = replace(SETUP, machine=replace(SETUP.machine, trim_over_mm=6.0))
    cuts = [
        plan_stitches(make_map(shapes, threads=[0, 0]), setup=s, specs=spec).count(Action.TRIM)
        for s in (SETUP, patient)
    ]
    assert cuts == [1, 0]


def test_bare_areas_are_left_alone():
    region_map = RegionMap(
        (Region(0, ROUND.difference(PLATE.buffer(-15)), 0), Region(1, PLATE.buffer(-15), BARE)),
        make_map([PLATE]).matches,
        40.0,
        40.0,
    )
    plan = plan_stitches(region_map, setup=SETUP)
    points = plan.xy_mm[plan.is_stitch]
    assert not shapely.contains_xy(PLATE.buffer(-15.6), points[:, 0], points[:, 1]).any()


def test_nothing_to_sew_is_refused():
    empty = RegionMap((Region(0, PLATE, BARE),), make_map([PLATE]).matches, 40.0, 40.0)
    with pytest.raises(InputError, match="no area to sew"):
        plan_stitches(empty, setup=SETUP)


def test_a_wish_for_an_unknown_area_is_refused():
    with pytest.raises(InputError, match="area 7"):
        plan_stitches(make_map([PLATE]), setup=SETUP, specs={7: StitchSpec()})


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Polygon([(0, 0), (30, 0), (30, 0.02)]),
        shapely.LineString([(0, 0), (30, 4)]).buffer(0.01),
        shapely.box(0, 0, 0.2, 0.2),
        shapely.Point(0, 0).buffer(0.05),
        shapely.Polygon([(0, 0), (0.5, 0), (0.25, 0.1)]),
        shapely.Polygon([(0, 0), (20, 0.1), (0, 0.2), (10, 0.1)]).buffer(0),
    ],
)
def test_slivers_and_specks_are_sewn_without_a_fault(shape):
    plan = plan_stitches(make_map([shape]), setup=SETUP)
    assert 2 <= plan.n_stitches <= 200
    assert treatment(plan).n_stitches > 0


def test_five_hundred_holes_in_one_thread_without_a_cut():
    grid = [(x, y) for x in np.linspace(-45, 45, 25) for y in np.linspace(-45, 45, 20)]
    sieve = shapely.box(-50, -50, 50, 50).difference(shapely.MultiPoint(grid).buffer(0.9))
    assert len(sieve.interiors) == 500
    plan = plan_stitches(make_map([sieve]), setup=SETUP)
    assert plan.count(Action.TRIM) == 0
    assert covered_share(plan, sieve) >= 0.995


@pytest.mark.slow
def test_two_thousand_specks_come_through():
    generator = np.random.default_rng(5)
    dots = [
        shapely.Point(x + dx, y + dy).buffer(0.6)
        for x in range(0, 150, 3)
        for y in range(0, 120, 3)
        for dx, dy in [generator.uniform(-0.5, 0.5, 2)]
    ]
    assert len(dots) == 2000
    plan = plan_stitches(make_map(dots, threads=[k % 3 for k in range(2000)]), setup=SETUP)
    assert len(plan.treatments) == 2000
    assert all(t.n_stitches > 0 for t in plan.treatments)


@pytest.mark.slow
def test_time_grows_no_faster_than_the_stitches_times_their_logarithm():
    def seconds(scale):
        shape = shapely.affinity.scale(ROUND, scale, scale)
        region_map = make_map([shape])
        begin = time.perf_counter()
        n = plan_stitches(region_map, setup=SETUP).n_stitches
        return n, time.perf_counter() - begin

    seconds(1.0)
    small, large = min(seconds(2.0) for _ in range(3)), min(seconds(6.0) for _ in range(3))
    ratio = large[0] * math.log(large[0]) / (small[0] * math.log(small[0]))
    # Three times the bound leaves room for a busy machine; quadratic growth would be nine times.
    assert large[1] <= 3 * ratio * small[1] + 0.05
