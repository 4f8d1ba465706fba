"""Frozen arrays and the content hash: read-only, checked, independent of memory and order."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.model.frozen import content_hash, frozen_array
from firstpiece.model.material import ThreadColor


def test_an_array_is_read_only_and_its_own():
    given_array = np.zeros((3, 2))
    kept = frozen_array(given_array, np.float64, (None, 2))
    given_array[0, 0] = 7.0
    assert kept[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        kept[0, 0] = 1.0


@pytest.mark.parametrize("shape", [(None,), (3, 3), (2, 2), (None, None, None)])
def test_a_wrong_shape_is_refused(shape):
    with pytest.raises(ValueError, match="shape"):
        frozen_array(np.zeros((3, 2)), np.float64, shape)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_what_is_not_finite_is_refused(bad):
    with pytest.raises(ValueError, match="not finite"):
        frozen_array([[0.0, bad]], np.float64, (None, 2))


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3).map(tuple),
    max_leaves=8,
)


@given(PLAIN, PLAIN)
def test_hashes_differ_exactly_when_values_do(a, b):
    if repr(a) == repr(b):
        assert content_hash(a) == content_hash(b)
    else:
        assert content_hash(a) != content_hash(b)


def test_type_shape_and_nesting_count():
    values = [1, 1.0, "1", True, (1,), [1], ((1,),), np.array([1]), np.array([[1]]),
              np.array([1], np.int32), b"1", {"1": 1}]  # fmt: skip
    assert len({content_hash(v) for v in values}) == len(values)


def test_order_of_a_dictionary_does_not_count():
    assert content_hash({"a": 1, "b": 2}) == content_hash({"b": 2, "a": 1})


def test_geometry_counts_by_its_coordinates():
    square = shapely.box(0, 0, 1, 1)
    assert content_hash(square) == content_hash(shapely.box(0, 0, 1, 1))
    assert content_hash(square) != content_hash(shapely.box(0, 0, 1, 1.0000001))


def test_another_process_finds_the_same_hash():
    code = (
        "from firstpiece.model.frozen import content_hash;"
        "from firstpiece.model.material import ThreadColor;"
        "print(content_hash({'b': (1, 2.5), 'a': ThreadColor('moss', (1, 2, 3), 26.7)}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    here = content_hash({"a": ThreadColor("moss", (1, 2, 3), 26.7), "b": (1, 2.5)})
    assert done.stdout.strip() == here
