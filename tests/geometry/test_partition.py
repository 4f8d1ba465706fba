"""Cutting the plane and joining faces: areas add up, shared edges are told once."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.geometry.partition import Partition, cut_plane, join_equal, shared_lengths

WHOLE = st.integers(0, 12)
BOXES = st.lists(
    st.tuples(WHOLE, WHOLE, st.integers(1, 6), st.integers(1, 6)).map(
        lambda b: shapely.box(b[0], b[1], b[0] + b[2], b[1] + b[3])
    ),
    min_size=1,
    max_size=6,
)


def cut(boxes):
    return cut_plane([box.boundary for box in boxes], grid=1e-3)


@given(BOXES)
def test_faces_tile_what_the_outlines_enclose(boxes):
    faces = cut(boxes)
    whole = shapely.union_all(list(faces))
    assert shapely.area(faces).sum() == pytest.approx(whole.area)
    assert shapely.union_all(boxes).difference(whole).area == pytest.approx(0.0, abs=1e-9)
    assert shapely.coverage_is_valid(faces)


@given(BOXES)
def test_lengths_add_up_to_each_outline(boxes):
    faces = cut(boxes)
    pairs, lengths, open_lengths = shared_lengths(faces)
    total = open_lengths.copy()
    np.add.at(total, pairs.ravel(), np.repeat(lengths, 2))
    assert total == pytest.approx(shapely.length(faces))
    assert (pairs[:, 0] < pairs[:, 1]).all()


@given(BOXES, st.integers(0, 2**16))
def test_joining_keeps_each_labels_area(boxes, bits):
    faces = cut(boxes)
    labels = np.array([bits >> i & 1 for i in range(len(faces))], dtype=np.int64)
    joined = join_equal(Partition(faces, labels))
    for label in (0, 1):
        before = shapely.area(faces[labels == label]).sum()
        assert shapely.area(joined.faces[joined.labels == label]).sum() == pytest.approx(before)
    pairs, _, _ = shared_lengths(joined.faces)
    assert (joined.labels[pairs[:, 0]] != joined.labels[pairs[:, 1]]).all()


def test_two_squares_side_by_side():
    faces = cut([shapely.box(0, 0, 4, 3), shapely.box(4, 0, 6, 3)])
    pairs, lengths, open_lengths = shared_lengths(faces)
    assert pairs.tolist() == [[0, 1]]
    assert lengths.tolist() == [3.0]
    assert open_lengths.tolist() == [11.0, 7.0]


def test_no_lines_no_faces():
    assert len(cut_plane([], grid=1e-3)) == 0
