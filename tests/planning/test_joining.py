"""Ties, hidden ways, sewing order, hole spacing: small cases with known answers."""

import numpy as np
import pytest
import shapely

from firstpiece.model.stitch import Role
from firstpiece.planning.compensation import OVERLAP_MM, pull_share, reach_under
from firstpiece.planning.corridors import Corridors
from firstpiece.planning.needle_holes import thin_holes
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.residual import bare_spots
from firstpiece.planning.stitch_list import Run, keep_limits
from firstpiece.planning.tie_places import TOGETHER_MM, spread_ties
from firstpiece.planning.ties import tie_in, tie_off, tie_slides
from firstpiece.planning.travel import HiddenWays


def line(*points, role=Role.COVER):
    return make_path(np.array(points, dtype=float), role)


def test_a_tie_is_three_short_stitches_along_the_path():
    # Three or four stitches of 0.5 to 0.8 mm: common practice, no source.
    tied = tie_in(line((0, 0), (10, 0)))
    steps = np.hypot(*np.diff(tied.xy_mm[tied.role == Role.TIE], axis=0).T)
    assert len(steps) == 3
    assert ((steps >= 0.5) & (steps <= 0.8)).all()
    assert tied.xy_mm[:, 1].max() == 0.0
    off = tie_off(line((0, 0), (10, 0)))
    assert off.end.tolist() == [10.0, 0.0]


def test_no_more_than_two_ties_lie_within_a_millimetre():
    places = [tie_slides(line((0, 0.1 * k), (10, 0.1 * k)))[1] for k in range(9)]
    taken = spread_ties(places)
    laid = np.array([at[k] for at, k in zip(places, taken, strict=True)])
    near = np.hypot(*(laid[:, None] - laid[None]).transpose(2, 0, 1)) <= TOGETHER_MM
    assert near.sum(axis=1).max() <= 2
    # Two stay where their runs begin: nothing moves without need.
    assert sum(k == 0 for k in taken) == 2


def test_an_end_with_no_room_stays_and_the_others_make_way():
    short = [np.array([[0.0, 0.0]]), np.array([[0.3, 0.0]])]
    long = tie_slides(line((0.2, 0), (8, 0)))[1]
    assert spread_ties([long, *short])[1:] == [0, 0]
    assert long[spread_ties([long, *short])[0]][0] > 0.3 + TOGETHER_MM


def test_a_tie_farther_in_is_reached_by_short_steps_from_the_first_place():
    tied = tie_in(line((0, 0), (20, 0)), 6.0)
    assert tied.start.tolist() == [6.0, 0.0]
    assert tied.end.tolist() == [20.0, 0.0]
    assert np.hypot(*np.diff(tied.xy_mm[:-1], axis=0).T).max() <= 2.5


def test_a_way_round_a_hole_stays_inside():
    ring = shapely.Point(0, 0).buffer(10).difference(shapely.Point(0, 0).buffer(6))
    ways = HiddenWays(ring)
    way = ways.find(np.array([-8.0, 0.0]), np.array([8.0, 0.0]))
    assert way is not None
    assert ring.buffer(0.05).covers(shapely.LineString(way))
    # Half-way round at the hole's rim is the shortest there can be.
    assert 6 * np.pi <= shapely.LineString(way).length <= 10 * np.pi


def test_no_way_between_two_parts():
    parts = shapely.MultiPolygon([shapely.box(0, 0, 5, 5), shapely.box(9, 0, 14, 5)])
    assert HiddenWays(parts).find(np.array([1.0, 1.0]), np.array([10.0, 1.0])) is None


def test_travel_goes_under_a_later_area_but_not_over_cloth_or_under_a_pale_one():
    left, right, bridge = shapely.box(0, 0, 5, 5), shapely.box(12, 0, 17, 5), (
        shapely.box(5, 0, 12, 5)
    )  # fmt: skip
    start, end = np.array([4.0, 2.5]), np.array([13.0, 2.5])
    under = Corridors([left, right, bridge], [40, 40, 20]).find(0, start, end)
    assert under is not None
    assert bridge.union(left).union(right).covers(shapely.LineString(under))
    assert Corridors([left, right], [40, 40]).find(0, start, end) is None
    assert Corridors([left, right, bridge], [20, 20, 95]).find(0, start, end) is None


def test_the_earlier_of_two_reaches_under_the_later():
    a, b = shapely.box(0, 0, 10, 10), shapely.box(10, 0, 20, 10)
    grown = reach_under([a, b], [(0, 1)], [0, 1])
    assert grown[0].bounds[2] == pytest.approx(10 + OVERLAP_MM)
    assert grown[1].equals(b)


def test_pull_grows_with_the_logarithm_of_width():
    # Our own membrane model, both sides together: widths and narrowing in mm.
    width, narrowing = np.array([1.0, 2.0, 4.0, 7.0]), np.array([0.084, 0.115, 0.142, 0.167])
    np.testing.assert_allclose(pull_share(width), narrowing / 0.167, atol=0.03)


def test_limits_split_long_steps_and_merge_short_ones():
    xy = np.array([[0.0, 0.0], [0.1, 0.0], [30.0, 0.0], [30.1, 0.0], [33.0, 0.0]])
    kept, origin = keep_limits(xy, np.zeros(5, dtype=np.uint8), 12.0)
    steps = np.hypot(*np.diff(kept, axis=0).T)
    assert steps.max() <= 12.0
    assert steps.min() >= 0.3
    assert origin.tolist() == [0, 2, 2, 2, 4]


def crowd(xy):
    """The most penetrations in any square of a millimetre with its sides on some of them."""
    most = 0
    for x in np.unique(xy[:, 0]):
        inside = xy[(xy[:, 0] >= x) & (xy[:, 0] < x + 1.0)]
        for y in np.unique(inside[:, 1]):
            most = max(most, np.count_nonzero((inside[:, 1] >= y) & (inside[:, 1] < y + 1.0)))
    return most


def test_crowded_holes_are_left_out_and_nothing_is_laid_open():
    rows = []
    for k in range(20):
        x = np.arange(0, 5.01, 0.5)
        xy = np.column_stack([x if k % 2 == 0 else x[::-1], np.full(len(x), 0.1 * k)])
        rows.append(make_path(xy, Role.COVER))
    run = Run((join_paths(rows),), (np.zeros(220, dtype=np.int32),), 0)
    thinned = thin_holes([run], thread_mm=0.4)[0].legs[0].xy_mm
    assert crowd(run.legs[0].xy_mm) >= 20
    assert crowd(thinned) <= 14
    before = shapely.LineString(run.legs[0].xy_mm).buffer(0.2)
    after = shapely.LineString(thinned).buffer(0.2)
    assert after.area >= 0.98 * before.area
    assert before.buffer(0.01).covers(after)
    assert thin_holes([], thread_mm=0.4) == []


def test_needed_holes_stay_where_they_are():
    rows = [make_path(np.array([[0.0, 0.4 * k], [6.0, 0.4 * k]]), Role.COVER) for k in range(20)]
    run = Run((join_paths(rows),), (np.zeros(40, dtype=np.int32),), 0)
    np.testing.assert_array_equal(
        thin_holes([run], thread_mm=0.4)[0].legs[0].xy_mm, run.legs[0].xy_mm
    )


def test_bare_spots_are_found_where_a_row_is_missing():
    plate = shapely.box(0, 0, 10, 4)
    rows = [line((0, y), (10, y)) for y in np.arange(0.2, 4, 0.4)]
    assert bare_spots(plate, rows, 0.4) == (0.0, [])
    share, spots = bare_spots(plate, rows[:4] + rows[5:], 0.4)
    assert share == pytest.approx(0.1, abs=0.03)
    assert len(spots) == 1
    assert spots[0].covers(shapely.Point(5, 1.8))


def test_a_reversed_path_keeps_its_roles_with_its_stitches():
    path = Path(np.array([[0.0, 0], [1, 0], [2, 0]]), np.array([0, 3, 1], dtype=np.uint8))
    assert path.reversed().role.tolist() == [0, 1, 3]
