import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.planning.satin import SatinColumn, satin_stitches

# Brief of the project: no step under 0.3 mm, no more than 14 holes in any square millimetre.
SHORTEST_MM = 0.3
MOST_HOLES = 14


def sew(polygon: shapely.Polygon, **changes: float) -> tuple[SatinColumn, ...]:
    wanted = {
        "column_spacing_mm": 0.4,
        "pull_mm": 0.0,
        "longest_stitch_mm": 9.0,
        "thread_width_mm": 0.4,
    }
    return satin_stitches(polygon, **(wanted | changes))


def thread(columns: tuple[SatinColumn, ...], width: float = 0.4) -> shapely.Geometry:
    """Return the cloth under thread: one flat ribbon per stitch."""
    stitches = [
        shapely.LineString(pair) for c in columns for pair in itertools.pairwise(c.points_mm)
    ]
    return shapely.union_all(shapely.buffer(stitches, width / 2, cap_style="flat"))


def worst_gap(polygon: shapely.Polygon, columns: tuple[SatinColumn, ...]) -> float:
    """Return the diameter of the largest circle of the shape without thread."""
    bare = shapely.get_parts(polygon.difference(thread(columns)))
    circles = [shapely.maximum_inscribed_circle(p, tolerance=0.01) for p in bare if p.area > 1e-3]
    return max((2.0 * circle.length for circle in circles), default=0.0)


def most_holes(columns: tuple[SatinColumn, ...]) -> int:
    points = np.concatenate([c.points_mm for c in columns])
    low = points.min(axis=0)
    cells = np.floor(points - low).astype(int)
    return int(np.unique(cells, axis=0, return_counts=True)[1].max())


def steps(columns: tuple[SatinColumn, ...]) -> np.ndarray:
    return np.concatenate([np.hypot(*np.diff(c.points_mm, axis=0).T) for c in columns])


LETTER_T = shapely.union_all([shapely.box(-5, 8, 5, 10), shapely.box(-1, 0, 1, 9)])
LETTER_L = shapely.union_all([shapely.box(0, 0, 2, 10), shapely.box(0, 0, 8, 2)])
LETTER_V = shapely.LineString([(-4, 10), (0, 0), (4, 10)]).buffer(
    1.1, cap_style="flat", join_style="mitre"
)
RING = shapely.Point(0, 0).buffer(6, quad_segs=32) - shapely.Point(0, 0).buffer(4, quad_segs=32)
CRESCENT = shapely.Point(0, 0).buffer(6, quad_segs=64) - shapely.Point(2.5, 0).buffer(5.2)
STAR = shapely.Polygon(
    [
        (r * np.sin(a), r * np.cos(a))
        for r, a in zip(itertools.cycle([7.0, 2.0]), np.arange(12) * np.pi / 6)
        if a < 2 * np.pi
    ]
)
FRAME = shapely.box(-6, -6, 6, 6) - shapely.box(-4.5, -4.5, 4.5, 4.5)
SHAPES = {
    "T": LETTER_T,
    "L": LETTER_L,
    "V": LETTER_V,
    "ring": RING,
    "crescent": CRESCENT,
    "star": STAR,
    "frame": FRAME,
    "bent stroke": shapely.LineString([(0, 0), (6, 1), (8, 6), (3, 9)]).buffer(0.9),
}


def test_a_bar_becomes_one_column_with_the_asked_spacing():
    (column,) = sew(shapely.box(0, 0, 20, 2))
    points = column.points_mm
    assert set(np.round(points[:, 1], 6)) == {0.0, 2.0}
    top = np.sort(points[points[:, 1] > 1, 0])
    # The stitch may slant by a part of a sample at the ends, never space wider than asked.
    assert np.median(np.diff(top)) == pytest.approx(0.4, abs=0.01)
    np.testing.assert_allclose(np.diff(top), 0.38, atol=0.025)
    np.testing.assert_allclose(column.widths_mm, 2.0, atol=0.005)
    np.testing.assert_allclose(column.axis_mm[:, 1], 1.0, atol=1e-6)


@pytest.mark.parametrize("name", SHAPES)
def test_cover_holes_and_steps(name):
    shape = SHAPES[name]
    columns = sew(shape)
    laid = thread(columns)
    assert shape.intersection(laid).area / shape.area > 0.99
    assert laid.difference(shape.buffer(0.5)).area / shape.area < 0.01
    assert worst_gap(shape, columns) <= 0.3
    assert steps(columns).min() >= SHORTEST_MM
    assert most_holes(columns) <= MOST_HOLES


def test_the_check_of_cover_can_fail():
    columns = sew(LETTER_V)
    less = tuple(SatinColumn(c.points_mm[:-8], c.axis_mm, c.widths_mm) for c in columns)
    assert worst_gap(LETTER_V, less) > 0.3


def test_pull_widens_each_side():
    (column,) = sew(shapely.box(0, 0, 20, 2), pull_mm=0.25)
    assert column.points_mm[:, 1].min() == pytest.approx(-0.25, abs=0.01)
    assert column.points_mm[:, 1].max() == pytest.approx(2.25, abs=0.01)


def test_a_ring_is_one_closed_column_without_a_seam():
    (column,) = sew(RING)
    assert column.is_closed
    np.testing.assert_allclose(column.points_mm[-2:], column.points_mm[1:3], atol=0.05)
    assert np.abs(np.hypot(*column.axis_mm.T) - 5).max() < 0.05
    # Equal turns all the way round: no seam, no crowding.
    across = np.diff(column.points_mm, axis=0)
    turn = np.unwrap(np.arctan2(across[::2, 1], across[::2, 0]))
    assert np.abs(np.diff(turn)).max() < 1.6 * np.abs(np.diff(turn)).mean()


def test_a_ring_begins_where_the_spoke_sewn_before_it_ends():
    wheel = shapely.union_all([RING, shapely.box(-0.7, -4.5, 0.7, 4.5)])
    spoke, ring = sew(wheel)
    assert not spoke.is_closed
    assert ring.is_closed
    assert np.hypot(*(spoke.points_mm[-1] - ring.points_mm[0])) < 1.5
    np.testing.assert_allclose(ring.points_mm[-3:], ring.points_mm[:3])
    assert worst_gap(wheel, (spoke, ring)) <= 0.3


def test_the_stem_of_a_t_is_sewn_before_the_bar_that_covers_its_end():
    columns = sew(LETTER_T)
    assert len(columns) == 2
    stem, bar = columns
    assert np.ptp(stem.axis_mm[:, 1]) > 7
    assert np.ptp(bar.axis_mm[:, 0]) > 9
    # The stem runs on under the bar, which is 2 mm high and begins at 8.
    assert 8.3 < stem.points_mm[:, 1].max() < 9.0


def turns(column: SatinColumn) -> np.ndarray:
    """Return the turn in degrees between stitches of the same slant, one zigzag apart."""
    across = np.diff(column.points_mm, axis=0)
    across = across[np.hypot(*across.T) > 1.0]
    angle = np.arctan2(across[:, 1], across[:, 0])
    return np.degrees(np.abs((angle[2:] - angle[:-2] + np.pi / 2) % np.pi - np.pi / 2))


@pytest.mark.parametrize("name", ["V", "L", "frame", "star"])
def test_corners_and_apexes_have_no_fan_and_no_knot(name):
    columns = sew(SHAPES[name])
    assert len(columns) >= 2
    # A fan over the apex of this V would turn 136 degrees within about six zigzags.
    assert max(turns(column).max(initial=0.0) for column in columns) < 12.0
    assert most_holes(columns) <= 10


def test_the_check_for_fans_can_fail():
    fan = [(0, 0), (2, 0), (0, 0.1), (1.7, 1.0), (0.1, 0.1), (1.0, 1.7)]
    assert turns(SatinColumn(np.array(fan), np.zeros((1, 2)), np.ones(1))).max() > 12.0


def test_the_inside_of_a_tight_curve_does_not_crowd():
    bend = shapely.LineString([(0, 6), (0, 0), (6, 0)]).buffer(1.5)
    columns = sew(bend)
    for column in columns:
        for side in (column.points_mm[::2], column.points_mm[1::2]):
            gap = np.hypot(*(side[:, None] - side[None]).transpose(2, 0, 1))
            assert gap[np.triu_indices(len(side), 1)].min() > 0.15
    assert most_holes(columns) <= MOST_HOLES


def test_wide_stitches_are_split_and_the_holes_are_staggered():
    (column,) = sew(shapely.box(0, 0, 30, 11), longest_stitch_mm=6.0)
    assert steps((column,)).max() <= 6.0
    inner = column.points_mm[(column.points_mm[:, 1] > 0.5) & (column.points_mm[:, 1] < 10.5)]
    levels = np.unique(np.round(inner[:, 1], 1))
    assert len(levels) >= 3


def test_a_dot_is_sewn_straight_across():
    columns = sew(shapely.Point(5, 5).buffer(1.2))
    assert len(columns) == 1
    assert worst_gap(shapely.Point(5, 5).buffer(1.2), columns) < 0.3


@pytest.mark.parametrize(
    "shape",
    [
        shapely.box(0, 0, 0.9, 0.6),
        shapely.box(0, 0, 12, 0.2),
        shapely.box(0, 0, 0.1, 0.1),
        shapely.box(0, 0, 15, 1e-3),
        shapely.Polygon([(0, 0), (12, 0.05), (0, 0.1)]),
        # Touches itself in one point, yet valid: a hole that meets the outline.
        shapely.Polygon([(0, 0), (8, 0), (8, 4), (0, 4)], [[(0, 0), (1, 3), (7, 1)]]),
        shapely.Polygon([(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (1, 2), (1, 1.001), (0, 1)]),
    ],
)
def test_slivers_tiny_and_self_touching_shapes_are_sewn_or_left(shape):
    for column in sew(shape):
        assert len(column.points_mm) >= 2
        assert steps((column,)).min() >= SHORTEST_MM
        assert shapely.contains_xy(shape.buffer(0.05), *column.points_mm.T).all()


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"column_spacing_mm": 0.0}, "column spacing"),
        ({"column_spacing_mm": float("nan")}, "column spacing"),
        ({"pull_mm": -1.5}, "pull"),
        ({"longest_stitch_mm": 0.5}, "longest stitch"),
    ],
)
def test_lengths_out_of_range_are_refused(change, message):
    with pytest.raises(ValueError, match=message):
        sew(LETTER_T, **change)


def test_an_empty_shape_gives_no_column():
    assert sew(shapely.Polygon()) == ()


random_strokes = st.builds(
    lambda nodes, half: shapely.LineString(nodes).buffer(half),
    st.lists(st.tuples(st.floats(-8, 8), st.floats(-8, 8)), min_size=2, max_size=5, unique=True),
    st.floats(0.4, 1.8),
)


@settings(max_examples=30, deadline=None)
@given(random_strokes, st.floats(0.0, 0.4))
def test_penetrations_stay_within_the_shape_and_pull(shape, pull):
    allowed = shape.buffer(pull + 0.05)
    for column in sew(shape, pull_mm=pull):
        assert shapely.contains_xy(allowed, *column.points_mm.T).all()
        assert steps((column,)).min() >= SHORTEST_MM
        assert steps((column,)).max() <= 9.0


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(sorted(SHAPES)), st.floats(-200, 200), st.floats(-200, 200))
def test_the_columns_move_with_the_shape(name, dx, dy):
    here = sew(SHAPES[name])
    there = sew(shapely.transform(SHAPES[name], lambda xy: xy + np.array([dx, dy])))
    assert len(here) == len(there)
    for one, two in zip(here, there, strict=True):
        assert len(one.points_mm) == len(two.points_mm)
        np.testing.assert_allclose(one.points_mm + np.array([dx, dy]), two.points_mm, atol=1e-3)


@pytest.mark.parametrize("name", SHAPES)
def test_the_same_shape_gives_the_same_bytes(name):
    one, two = sew(SHAPES[name]), sew(SHAPES[name])
    assert [c.points_mm.tobytes() for c in one] == [c.points_mm.tobytes() for c in two]


@pytest.mark.parametrize("width", [0.6, 1.0, 3.0])
def test_below_zero_the_holes_are_drawn_in_but_can_still_be_sewn(width):
    bar = shapely.box(0, 0, 20, width)
    (column,) = satin_stitches(
        bar, column_spacing_mm=0.4, pull_mm=-0.2, longest_stitch_mm=8.0, thread_width_mm=0.4
    )
    inset = min(0.2, (width - 0.42) / 2)
    y = column.points_mm[5:-5, 1]
    assert y.min() == pytest.approx(inset, abs=0.02)
    assert y.max() == pytest.approx(width - inset, abs=0.02)
    assert np.hypot(*np.diff(column.points_mm, axis=0).T).min() >= 0.3
