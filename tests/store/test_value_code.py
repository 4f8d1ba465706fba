"""Stored values come back equal, and nothing found on disk is ever run."""

from __future__ import annotations

import json
import struct
import zlib
from decimal import Decimal

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from moneyed import Money

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.frozen import content_hash
from firstpiece.model.region import Region, RegionMap
from firstpiece.model.stitch import Action, StitchPlan, StitchType
from firstpiece.store.value_code import CodeError, decode_value, encode_value

LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-(2**62), 2**62)
    | st.floats(allow_nan=False)
    | st.text(max_size=8)
    | st.binary(max_size=8)
    | st.decimals(allow_nan=False, allow_infinity=False)
    | st.sampled_from(list(StitchType) + list(Action))
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.lists(inner, max_size=4).map(tuple)
        | st.dictionaries(st.text(max_size=4), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(VALUES)
def test_any_nest_of_plain_values_comes_back(value):
    back = decode_value(encode_value(value))
    assert back == value
    assert content_hash(back) == content_hash(value)


@given(
    st.sampled_from(["<f8", "<f4", "|u1", "<i4", "<i2", "|b1"]),
    st.tuples(st.integers(0, 5), st.integers(0, 5)),
)
def test_arrays_come_back_with_type_and_shape(dtype, shape):
    array = (np.arange(shape[0] * shape[1]) % 2).reshape(shape).astype(dtype)
    back = decode_value(encode_value(array))
    assert back.dtype == array.dtype
    assert np.array_equal(back, array)


def test_a_whole_set_up_comes_back():
    setup = CardDrawer().setup("tee-black")
    back = decode_value(encode_value(setup))
    assert back == setup


def test_a_region_map_comes_back(ring_map):
    back = decode_value(encode_value(ring_map))
    assert isinstance(back, RegionMap)
    assert content_hash(back) == content_hash(ring_map)


def test_a_plan_comes_back_read_only(small_plan):
    back = decode_value(encode_value(small_plan))
    assert isinstance(back, StitchPlan)
    assert content_hash(back) == content_hash(small_plan)
    assert not back.xy_mm.flags.writeable


def test_money_keeps_its_last_penny():
    value = (Money(Decimal("0.10"), "GBP"), Money(Decimal("1.005"), "KWD"))
    assert decode_value(encode_value(value)) == value


def test_what_is_not_a_model_value_is_refused():
    with pytest.raises(TypeError):
        encode_value(object())
    with pytest.raises(TypeError):
        encode_value(np.array(["text"], dtype=object))


def _packed(tree: object, block: bytes = b"") -> bytes:
    text = json.dumps(tree).encode()
    return b"FPV1" + zlib.compress(struct.pack("<Q", len(text)) + text + block)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"FPV1",
        b"FPV1 not compressed",
        b"\x80\x04\x95 a pickle",
        _packed({"c": ["Popen", {"args": "true"}]}),
        _packed({"c": ["ThreadColor", {"name": "x", "rgb": 5, "tex": 1}]}),
        _packed({"a": ["|O", [1], 0, 8]}, b"\0" * 8),
        _packed({"a": ["<f8", [4], 0, 32]}, b"\0" * 8),
        _packed({"b": [-4, 2]}, b"\0" * 8),
        _packed({"g": [0, 8]}, b"\0" * 8),
        _packed({"z": 1}),
        _packed({}),
    ],
)
def test_damaged_or_hostile_bytes_are_refused(data):
    with pytest.raises(CodeError):
        decode_value(data)


def test_outlines_keep_every_bit():
    ring = shapely.Polygon([(0.1, 0.2), (1 / 3, 0.7), (np.pi, -np.e)])
    back = decode_value(encode_value(Region(3, ring, 0)))
    assert np.array_equal(
        np.asarray(back.polygon.exterior.coords), np.asarray(ring.exterior.coords)
    )
