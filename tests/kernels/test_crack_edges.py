"""Arcs between unlike pixels against a walk over single pixel sides."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from firstpiece.kernels.crack_edges import join_diagonals, trace_cracks

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
