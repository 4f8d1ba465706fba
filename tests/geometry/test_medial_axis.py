import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.geometry.medial_axis import inscribed_widths, medial_axis
from firstpiece.geometry.outline_samples import refine_samples, sample_outline


def letter_t() -> shapely.Polygon:
    return shapely.union_all([shapely.box(-5, 8, 5, 10), shapely.box(-1, 0, 1, 9)])


def test_letter_t_has_three_ends_and_one_junction():
    widths = inscribed_widths(letter_t())
    assert (widths.n_ends, widths.n_junctions) == (3, 1)
    # The largest circle sits in the crossing: it touches both inner corners and the top edge.
    # (1)^2 + (r - 2)^2 = r^2 with the top at distance r gives r = 1.25.
    assert widths.max_mm == pytest.approx(2.5, abs=0.02)
    assert widths.median_mm == pytest.approx(2.0, abs=0.02)


def test_disc_has_one_node_and_no_edge():
    axis = medial_axis(shapely.Point(3, -2).buffer(2))
    assert axis.edges.shape == (0, 2)
    assert axis.branches == ()
    np.testing.assert_allclose(axis.nodes_mm, [[3, -2]], atol=0.01)
    assert axis.radii_mm[0] == pytest.approx(2.0, abs=0.01)


def test_every_circle_touches_the_outline_and_stays_inside():
    shape = letter_t().buffer(0.4, quad_segs=8)
    axis = medial_axis(shape)
    distance = shapely.distance(shape.exterior, shapely.points(axis.nodes_mm))
    assert shapely.contains_xy(shape, *axis.nodes_mm.T).all()
    np.testing.assert_allclose(axis.radii_mm, distance, atol=0.02)


@pytest.mark.parametrize("width", [1e-4, 0.01, 0.1])
def test_slivers_are_summarised(width):
    widths = inscribed_widths(shapely.box(0, 0, 10, width))
    assert widths.median_mm == pytest.approx(width, rel=0.1)
    assert widths.length_mm == pytest.approx(10, rel=0.02)


def test_tiny_shapes_do_not_fail():
    widths = inscribed_widths(shapely.box(0, 0, 0.05, 0.04))
    assert 0.01 < widths.max_mm < 0.06


def test_a_branch_as_thin_as_the_samples_is_still_found():
    shape = shapely.union_all([shapely.box(0, 0, 8, 8), shapely.box(8, 4, 14, 4.12)])
    axis = medial_axis(shape)
    assert axis.nodes_mm[:, 0].max() > 13.5


def test_samples_keep_every_corner_and_their_spacing():
    shape = letter_t().difference(shapely.box(-0.3, 8.5, 0.3, 9.5))
    samples = sample_outline(shape, spacing_mm=0.3)
    step = np.hypot(*(samples.points_mm[samples.following] - samples.points_mm).T)
    assert step.max() <= 0.3 + 1e-3
    assert len(samples.ring_length_mm) == 2
    corners = shapely.get_coordinates(shape)
    gap = np.hypot(*(corners[:, None] - samples.points_mm[None]).T).min(axis=0)
    assert gap.max() < 1e-12
    finer = refine_samples(samples, np.ones(len(step), dtype=bool))
    assert len(finer.points_mm) == 2 * len(step)
    assert finer.ring_length_mm == pytest.approx(samples.ring_length_mm)


def test_bad_spacing_and_coordinates_are_refused():
    with pytest.raises(ValueError, match="greater than zero"):
        sample_outline(letter_t(), spacing_mm=0.0)


@settings(max_examples=25, deadline=None)
@given(st.floats(-300, 300), st.floats(-300, 300), st.floats(0.5, 3.0))
def test_moving_the_shape_moves_its_axis(dx, dy, width):
    shape = shapely.LineString([(0, 0), (6, 1), (9, 6), (4, 9)]).buffer(width)
    here = inscribed_widths(shape)
    there = inscribed_widths(shapely.transform(shape, lambda xy: xy + np.array([dx, dy])))
    assert there.max_mm == pytest.approx(here.max_mm, abs=1e-3)
    assert there.length_mm == pytest.approx(here.length_mm, abs=0.05)
    assert there.n_ends == here.n_ends
