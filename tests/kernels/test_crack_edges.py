"""Arcs between unlike pixels against a walk over single pixel sides."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from firstpiece.kernels.crack_edges import crack_middles, join_diagonals, trace_cracks

OUTSIDE = -1
MAPS = st.tuples(st.integers(1, 7), st.integers(1, 7)).flatmap(
    lambda shape: arrays(np.int32, shape, elements=st.integers(-1, 2))
)


def cracks_of(labels):
    """The slow twin: every pixel side between unlike labels, with the labels beside it.

    A side is named by its corners (x, y) to (x, y), rightwards or downwards; the labels are those
    left and right of someone walking along it, on paper with y pointing down.
    """
    padded = np.pad(labels, 1, constant_values=OUTSIDE)
    found = {}
    for y in range(labels.shape[0] + 1):
        for x in range(labels.shape[1] + 1):
            above, here = padded[y, x + 1], padded[y + 1, x + 1]
            before = padded[y + 1, x]
            if x < labels.shape[1] and above != here:
                found[(x, y), (x + 1, y)] = (above, here)
            if y < labels.shape[0] and before != here:
                found[(x, y), (x, y + 1)] = (here, before)
    return found


def steps_of(corners):
    return [(tuple(p), tuple(q)) for p, q in pairwise(corners)]


@given(MAPS)
def test_each_pixel_side_lies_on_one_arc(labels):
    corners, starts, sides = trace_cracks(labels, OUTSIDE)
    expected = cracks_of(labels)
    seen = {}
    for i in range(len(starts) - 1):
        left, right = sides[i]
        for p, q in steps_of(corners[starts[i] : starts[i + 1]].tolist()):
            forward = (p, q) in expected
            key = (p, q) if forward else (q, p)
            assert key not in seen
            seen[key] = (left, right) if forward else (right, left)
    assert seen == expected


@given(MAPS)
def test_arcs_end_at_junctions_or_close(labels):
    corners, starts, _ = trace_cracks(labels, OUTSIDE)
    degree = {}
    for p, q in cracks_of(labels):
        degree[p] = degree.get(p, 0) + 1
        degree[q] = degree.get(q, 0) + 1
    for i in range(len(starts) - 1):
        run = [tuple(c) for c in corners[starts[i] : starts[i + 1]].tolist()]
        assert run[0] == run[-1] or (degree[run[0]] > 2 and degree[run[-1]] > 2)
        assert all(degree[c] == 2 for c in run[1:-1])


@pytest.mark.parametrize("shape", [(0, 0), (0, 4), (3, 3)])
def test_no_edges_no_arcs(shape):
    corners, starts, sides = trace_cracks(np.full(shape, OUTSIDE, dtype=np.int32), OUTSIDE)
    assert len(corners) == len(sides) == 0
    assert starts.tolist() == [0]


def checkerboards(labels):
    a, b, c, d = labels[:-1, :-1], labels[:-1, 1:], labels[1:, :-1], labels[1:, 1:]
    return int(((a == d) & (b == c) & (a != b)).sum())


def test_a_thin_slanting_line_becomes_one_area():
    labels = np.zeros((12, 12), dtype=np.int32)
    np.fill_diagonal(labels, 1)
    joined = join_diagonals(labels)
    assert checkerboards(labels) == 11
    assert checkerboards(joined) == 0
    assert (joined[labels == 1] == 1).all()


@given(arrays(np.int32, (6, 6), elements=st.integers(0, 3)))
def test_joining_leaves_other_pixels_alone(labels):
    joined = join_diagonals(labels, 50)
    if checkerboards(labels) == 0:
        assert (joined == labels).all()
    assert set(np.unique(joined)) <= set(np.unique(labels))


COLORS = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]], dtype=np.float32)


def middles_slowly(corners, codes, paint):
    """The twin: for each step between corners, the place where the mixture is half and half."""
    out = []
    for (x0, y0), (x1, y1) in pairwise(corners.tolist()):
        middle = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
        x, y = min(x0, x1), min(y0, y1)
        normal = np.array([0, 1]) if y0 == y1 else np.array([1, 0])
        j, i = y - normal[1], x - normal[0]
        is_step = abs(x0 - x1) + abs(y0 - y1) == 1
        if is_step and i >= 0 and j >= 0 and x < paint.shape[1] and y < paint.shape[0]:
            near, far = COLORS[paint[j, i]].astype(float), COLORS[paint[y, x]].astype(float)
            line = far - near
            shares = [
                float(np.clip((codes[q].astype(float) - near) @ line / (line @ line), 0, 1))
                if line.any()
                else 0.0
                for q in ((j, i), (y, x))
            ]
            if shares[0] <= 0.5 <= shares[1] and shares[1] > shares[0]:
                middle = middle + normal * ((0.5 - shares[0]) / (shares[1] - shares[0]) - 0.5)
        out.append(middle)
    return np.array(out).reshape(-1, 2)


@given(
    arrays(np.int32, (5, 6), elements=st.integers(0, 2)),
    arrays(np.float32, (5, 6, 2), elements=st.integers(0, 16).map(lambda n: n / 16)),
)
def test_middles_match_the_twin(paint, codes):
    corners, _, _ = trace_cracks(paint, OUTSIDE)
    ours = crack_middles(corners, codes, paint, COLORS)
    assert ours[:-1] == pytest.approx(middles_slowly(corners, codes, paint), abs=1e-6)


@pytest.mark.parametrize("edge", [3.0, 3.2, 3.5, 3.9])
def test_a_soft_edge_is_found_between_pixels(edge):
    cover = np.clip(np.arange(8) + 1.0 - edge, 0.0, 1.0).astype(np.float32)
    codes = np.zeros((4, 8, 2), dtype=np.float32)
    codes[:, :, 0] = cover
    paint = (codes[:, :, 0] >= 0.5).astype(np.int32)
    corners, _, sides = trace_cracks(paint, 0)
    middles = crack_middles(corners, codes, paint, COLORS)
    level = (corners[1:, 1] != corners[:-1, 1]) & (corners[1:, 0] < 8) & (corners[:-1, 0] < 8)
    assert len(sides) == 1
    assert middles[:-1][level][:, 0] == pytest.approx(edge, abs=0.13)


def test_middles_of_nothing():
    none = np.zeros((0, 2), dtype=np.int32)
    codes = np.zeros((2, 2, 2), dtype=np.float32)
    assert crack_middles(none, codes, np.zeros((2, 2), dtype=np.int32), COLORS).shape == (0, 2)
