"""Kinds of line, relief patterns, soft edges, curved and fading fills that a person may ask for."""

import math

import numpy as np
import pytest
import shapely
from tests.properties.strategies import make_map, setup_on

from firstpiece.errors import InputError
from firstpiece.geometry.polyline import arc_lengths
from firstpiece.model.stitch import (
    Action,
    Motif,
    Relief,
    Role,
    RowCourse,
    RunKind,
    StitchSpec,
    StitchType,
)
from firstpiece.planning.line_kinds import MOTIFS, sew_line
from firstpiece.planning.row_relief import feathered, row_phase
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on()
T = np.linspace(0, 40, 120)
CURVE = np.column_stack([T, 2 * np.sin(T / 5)])
PLATE = shapely.box(0, 0, 30, 20)


def sewn(shape, **wishes):
    return plan_stitches(make_map([shape]), setup=SETUP, specs={0: StitchSpec(**wishes)})


def cover(plan):
    return plan.xy_mm[plan.is_stitch & (plan.role == Role.COVER)]


@pytest.mark.parametrize("kind", RunKind)
@pytest.mark.parametrize("motif", Motif)
def test_every_line_begins_and_ends_on_its_line_in_sewable_steps(kind, motif):
    points = sew_line(CURVE, kind, step_mm=2.2, motif=motif)
    np.testing.assert_allclose(points[[0, -1]], CURVE[[0, -1]], atol=1e-6)
    steps = np.hypot(*np.diff(points, axis=0).T)
    assert steps.min() > 0.3
    assert steps.max() <= 4.0


def test_a_triple_line_lays_every_step_three_times():
    single = sew_line(CURVE, RunKind.SINGLE, step_mm=2.2)
    triple = sew_line(CURVE, RunKind.TRIPLE, step_mm=2.2)
    assert arc_lengths(triple)[-1] == pytest.approx(3 * arc_lengths(single)[-1])
    assert len(np.unique(triple, axis=0)) == len(single)


def test_steps_land_on_corners_and_are_even_between():
    corner = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 7.0]])
    points = sew_line(corner, RunKind.SINGLE, step_mm=2.2)
    assert (points == [10.0, 0.0]).all(axis=1).any()
    steps = np.hypot(*np.diff(points, axis=0).T)
    assert np.ptp(steps[:5]) < 1e-9
    assert np.ptp(steps[5:]) < 1e-9


def test_hand_look_and_dots_are_thick_and_thin_by_turns():
    for kind in (RunKind.HAND, RunKind.STIPPLE):
        points = sew_line(np.array([[0.0, 0.0], [60.0, 0.0]]), kind, step_mm=2.2)
        at = np.arange(0.05, 60, 0.1)
        low, high = (
            np.minimum(points[:-1, 0], points[1:, 0]),
            np.maximum(points[:-1, 0], points[1:, 0]),
        )
        layers = ((low[:, None] < at) & (at < high[:, None])).sum(axis=0)
        assert set(layers.tolist()) == {1, 3}
        assert np.count_nonzero(np.diff(layers)) > 20


@pytest.mark.parametrize("motif", Motif)
def test_a_motif_repeats_a_whole_number_of_times(motif):
    length, form = MOTIFS[motif]
    line = np.array([[0.0, 0.0], [length * 5.3, 0.0]])
    points = sew_line(line, RunKind.MOTIF, step_mm=2.2, motif=motif)
    assert len(points) == 5 * (len(form) - 1) + 1
    assert np.abs(points[:, 1]).max() == pytest.approx(max(abs(y) for _, y in form), rel=0.01)


@pytest.mark.parametrize("kind", [RunKind.SINGLE, RunKind.TRIPLE, RunKind.HAND])
def test_an_asked_line_is_run_along_the_middle(kind):
    shape = shapely.LineString(CURVE).buffer(1.5)
    plan = sewn(shape, run=kind)
    assert plan.treatments[0].stitch_type is StitchType.RUNNING
    middle = shapely.LineString(CURVE - [20.0, 0.0])
    off = shapely.distance(middle, shapely.points(cover(plan)))
    assert off.max() < 0.6


def test_relief_shifts_repeat_in_their_pattern():
    row = np.arange(88)
    assert np.unique(row_phase(row, Relief.EVEN)).tolist() == [0, 0.25, 0.5, 0.75]
    assert np.ptp(np.diff(row_phase(row, Relief.TWILL))) < 1e-12
    chevron = np.diff(row_phase(row, Relief.CHEVRON))
    assert set(np.round(chevron, 9).tolist()) == {0.15, -0.15}
    wave = row_phase(row, Relief.WAVE)
    np.testing.assert_allclose(wave[22:44], wave[:22], atol=1e-12)
    places = {relief: len(cover(sewn(PLATE, relief=relief))) for relief in Relief}
    # The pattern moves holes; it does not add to them.
    assert max(places.values()) < 1.05 * min(places.values())


def test_feathered_ends_lie_evenly_over_the_depth_and_no_row_is_lost():
    row = np.arange(200)
    left, right = feathered(np.zeros(200), np.full(200, 20.0), row, 4.0)
    assert np.histogram(left, 4, (0, 4))[0].min() >= 45
    assert (right - left).min() >= 12
    short_left, short_right = feathered(np.zeros(200), np.full(200, 2.0), row, 4.0)
    assert (short_right > short_left).all()


def test_a_feathered_edge_thins_out_and_the_middle_stays_covered():
    plan = sewn(PLATE, feather_mm=4.0, angle_rad=0.0)
    line = shapely.LineString(plan.xy_mm[plan.sewn_segments()]).buffer(0.2)
    middle, rim = shapely.box(-10, -8, 10, 8), shapely.box(-15, -8, -13, 8)
    assert middle.intersection(line).area > 0.98 * middle.area
    assert rim.intersection(line).area < 0.6 * rim.area


def test_curved_rows_follow_the_shape_inside_it():
    a = np.linspace(0.2, 2.9, 60)
    bow = shapely.LineString(18 * np.column_stack([np.cos(a), np.sin(a)])).buffer(6)
    region_map = make_map([bow])
    plan = plan_stitches(region_map, setup=SETUP, specs={0: StitchSpec(course=RowCourse.CURVED)})
    xy, rows = plan.xy_mm, plan.sewn_segments()
    area = region_map.regions[0].polygon
    assert area.buffer(0.45).covers(shapely.MultiPoint(xy[plan.is_stitch]))
    line = shapely.union_all(shapely.linestrings(np.stack([xy[rows - 1], xy[rows]], 1))).buffer(0.2)
    inside = area.buffer(-0.3)
    assert inside.intersection(line).area > 0.985 * inside.area
    # Long stitches lie along circles about the bow's own middle.
    shift = np.array(area.centroid.coords[0]) - np.array(bow.centroid.coords[0])
    middle, step = (xy[rows - 1] + xy[rows]) / 2 - shift, xy[rows] - xy[rows - 1]
    long = (np.hypot(*step.T) > 1.0) & (np.hypot(*middle.T) > 14) & (np.hypot(*middle.T) < 22)
    long &= (plan.role[rows] == Role.COVER) & (middle[:, 1] > 6)
    radial = np.abs((middle * step).sum(axis=1)) / np.hypot(*middle.T) / np.hypot(*step.T)
    assert np.percentile(radial[long], 90) < math.sin(math.radians(12))


def test_guides_turn_the_rows():
    plan = sewn(PLATE, guides=((-12.0, 0.0, 0.0), (12.0, 0.0, math.pi / 3)))
    xy, rows = plan.xy_mm, plan.sewn_segments()
    step, middle = xy[rows] - xy[rows - 1], (xy[rows - 1] + xy[rows]) / 2
    turn = np.arctan2(step[:, 1], step[:, 0]) % math.pi
    long = (np.hypot(*step.T) > 1.0) & (plan.role[rows] == Role.COVER)
    left = turn[long & (np.abs(middle[:, 0] + 12) < 2) & (np.abs(middle[:, 1]) < 5)]
    right = turn[long & (np.abs(middle[:, 0] - 12) < 2) & (np.abs(middle[:, 1]) < 5)]
    assert np.median(np.minimum(left, math.pi - left)) < math.radians(15)
    assert abs(np.median(right) - math.pi / 3) < math.radians(15)


def test_a_fade_is_sewn_in_two_threads_that_thin_out_against_each_other():
    other = SETUP.thread.colors[9].name
    plan = sewn(PLATE, fade_to=other, fade_angle_rad=0.0)
    assert {t.name for t in plan.threads} == {SETUP.thread.colors[0].name, other}
    assert plan.count(Action.COLOR_CHANGE) == 1
    assert len(plan.treatments) == 1
    rows = plan.sewn_segments()
    x = (plan.xy_mm[rows, 0] + plan.xy_mm[rows - 1, 0]) / 2
    length = np.hypot(*(plan.xy_mm[rows] - plan.xy_mm[rows - 1]).T)
    top = plan.role[rows] == Role.COVER
    first, second = plan.thread[rows] == 0, plan.thread[rows] == 1
    left, right = x < -10, x > 10
    assert length[top & first & left].sum() > 3 * length[top & first & right].sum()
    assert length[top & second & right].sum() > 3 * length[top & second & left].sum()
    with pytest.raises(InputError, match="not on the rack"):
        sewn(PLATE, fade_to="no such thread")
