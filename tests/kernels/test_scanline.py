"""Rows across polygons against shapely, and plain Python twins of the small loops."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.properties.strategies import polygons

from firstpiece.geometry.rows import polygon_edges
from firstpiece.kernels.scanline import (
    cut_rows,
    drop_slit_links,
    label_cells,
    lay_rows,
    link_spans,
    walk_spans,
    widen_spans,
)


def spans(polygon, first, spacing, n_rows):
    row_start, crossing = cut_rows(polygon_edges(polygon), first, spacing, n_rows)
    return row_start // 2, crossing[0::2].copy(), crossing[1::2].copy()


@settings(max_examples=30, deadline=None)
@given(polygons())
def test_rows_have_the_length_shapely_finds(polygon):
    x0, y0, x1, _ = polygon.bounds
    first, spacing, n_rows = y0 + 0.0137, 0.531, 40
    row_start, left, right = spans(polygon, first, spacing, n_rows)
    for k in range(n_rows):
        line = shapely.LineString([(x0 - 1, first + k * spacing), (x1 + 1, first + k * spacing)])
        own = slice(row_start[k], row_start[k + 1])
        assert (left[own] <= right[own]).all()
        length = float((right[own] - left[own]).sum())
        assert length == pytest.approx(polygon.intersection(line).length, abs=1e-6)


def test_a_vertex_on_a_row_counts_once():
    diamond = shapely.Polygon([(0, -1), (1, 0), (0, 1), (-1, 0)])
    row_start, left, right = spans(diamond, -1.0, 1.0, 3)
    assert np.diff(row_start).tolist() == [1, 1, 0]
    assert (left[1], right[1]) == (-1.0, 1.0)


def test_nothing_to_cut():
    row_start, crossing = cut_rows(np.empty((0, 4)), 0.0, 0.4, 5)
    assert row_start.tolist() == [0] * 6
    assert len(crossing) == 0
    none = np.empty(0)
    assert len(link_spans(row_start, none, none, 0.05)) == 0
    assert len(label_cells(0, np.empty((0, 2), dtype=np.int64))) == 0


def links_slowly(row_start, left, right, overlap):
    return [
        (a, b)
        for k in range(len(row_start) - 2)
        for a in range(row_start[k], row_start[k + 1])
        for b in range(row_start[k + 1], row_start[k + 2])
        if min(right[a], right[b]) - max(left[a], left[b]) >= overlap
    ]


@settings(max_examples=30, deadline=None)
@given(polygons())
def test_links_join_all_spans_that_overlap(polygon):
    row_start, left, right = spans(polygon, polygon.bounds[1] + 0.01, 0.4, 60)
    links = link_spans(row_start, left, right, 0.05)
    assert [tuple(k) for k in links.tolist()] == links_slowly(row_start, left, right, 0.05)


@settings(max_examples=30, deadline=None)
@given(polygons())
def test_a_cell_has_one_span_a_row_and_its_inner_spans_one_partner(polygon):
    row_start, left, right = spans(polygon, polygon.bounds[1] + 0.01, 0.4, 60)
    links = link_spans(row_start, left, right, 0.05)
    cell = label_cells(len(left), links)
    row = np.repeat(np.arange(60), np.diff(row_start))
    for c in range(cell.max(initial=-1) + 1):
        assert (np.diff(row[cell == c]) == 1).all()
    n_up = np.bincount(links[:, 0], minlength=len(left))
    n_down = np.bincount(links[:, 1], minlength=len(left))
    same = cell[links[:, 0]] == cell[links[:, 1]]
    one_to_one = (n_up[links[:, 0]] == 1) & (n_down[links[:, 1]] == 1)
    np.testing.assert_array_equal(same, one_to_one)


def test_a_slit_aslant_leaves_two_cells():
    slit = shapely.LineString([(-10, 2), (10, 6)]).buffer(0.1, cap_style="flat")
    plate = shapely.box(-8, 0, 8, 8).difference(slit)
    parts = shapely.get_parts(plate)
    assert len(parts) == 2
    row_start, left, right = spans(plate, 0.2, 0.4, 20)
    links = link_spans(row_start, left, right, 0.05)
    kept = drop_slit_links(links, left, right)
    assert len(kept) < len(links)
    side = [
        next(i for i, p in enumerate(parts) if p.buffer(1e-6).covers(shapely.Point(x, y)))
        for x, y in zip((left + right) / 2, 0.2 + 0.4 * np.repeat(np.arange(20),
                        np.diff(row_start)), strict=True)
    ]  # fmt: skip
    wrong = [(a, b) for a, b in kept if side[a] != side[b]]
    # Where the slit runs out of the plate, spans of the next row have no partner of their own side.
    assert len(wrong) <= 4


def test_widened_spans_meet_at_most_four_tenths_into_a_gap():
    row_start = np.array([0, 2])
    left, right = widen_spans(
        row_start, np.array([0.0, 5.1]), np.array([5.0, 9.0]), np.array([0.2, 0.2])
    )
    assert left[0] == -0.2
    assert right[1] == 9.2
    assert left[1] - right[0] == pytest.approx(0.02)


def test_shortening_leaves_a_fifth_of_a_short_span():
    left, right = widen_spans(np.array([0, 1]), np.array([0.0]), np.array([0.3]), np.array([-0.5]))
    assert right[0] - left[0] == pytest.approx(0.06)


def rows_slowly(left, right, y, phase, length, side):
    points = []
    for i in range(len(left)):
        ticks = [phase[i] + j * length for j in range(-200, 200)]
        inner = [t for t in ticks if left[i] + 0.3 * length <= t <= right[i] - 0.3 * length]
        row = [left[i], *inner, right[i]]
        points += [(x, y[i]) for x in (row if (side + i) % 2 == 0 else row[::-1])]
    return np.array(points).reshape(-1, 2)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-30, 30), st.floats(0.01, 40)), max_size=8),
    st.floats(1.0, 6.0),
    st.integers(0, 1),
)
def test_rows_agree_with_their_twin(rows, length, side):
    left = np.array([a for a, _ in rows])
    right = left + np.array([w for _, w in rows])
    y = 0.4 * np.arange(len(rows))
    phase = length * np.array([0, 0.5, 0.25, 0.75])[np.arange(len(rows)) % 4]
    laid = lay_rows(left, right, y, phase, length, side)
    slow = rows_slowly(left, right, y, phase, length, side)
    np.testing.assert_allclose(laid, slow, atol=1e-9)


def test_a_walk_moves_aside_only_where_it_must():
    left, right = np.array([0.0, 0.0, 4.0, 3.0]), np.array([5.0, 5.0, 9.0, 9.0])
    assert walk_spans(left, right, 2.0, 0.5).tolist() == [2.0, 2.0, 4.5, 4.5]
