"""Byte records written by the kernel against a slow twin that works on text."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.kernels.record_decode import FormTables, decode_records
from firstpiece.kernels.record_encode import BitTables, encode_records

# Two forms: three cells with scattered bits, one cell with a thread.
BITS = np.array(
    [[0, 7, 0, 1], [2, 0, 0, 0], [1, 3, 1, 2], [1, 6, 1, 1], [0, 0, 1, 0], [0, 4, 2, 0]]
)
TABLES = BitTables(
    np.array([3, 1]), np.array([[0x02, 0x80, 0], [0x42, 0, 0]], np.uint8), np.array([0, 5, 6]), BITS
)


def slow_records(form, codes):
    out = []
    for f, code in zip(form, codes, strict=True):
        cells = [list(f"{b:08b}") for b in TABLES.fixed[f, : TABLES.length[f]]]
        for cell, bit, field, place in BITS[TABLES.first_bit[f] : TABLES.first_bit[f + 1]]:
            if f"{code[field]:032b}"[31 - place] == "1":
                cells[cell][7 - bit] = "1"
        out += [int("".join(c), 2) for c in cells]
    return out


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 1), st.integers(0, 3), st.integers(0, 7),
    st.integers(0, 1))))  # fmt: skip
def test_records_are_those_of_the_slow_twin(rows):
    form = np.array([r[0] for r in rows], dtype=np.int64)
    codes = np.array([r[1:] for r in rows], dtype=np.int64).reshape(-1, 3)
    assert encode_records(form, codes, TABLES).tolist() == slow_records(form, codes)


@pytest.mark.parametrize("bias", [0, -4])
def test_the_reading_kernel_adds_weights_and_bias(bias):
    """Bits 101 of weights 4, 2, 1 are 5; the bias is added once; a sign bit turns the sum."""
    bit = np.array([[0, 2, 0, 4], [0, 1, 0, 2], [0, 0, 0, 1], [0, 3, 1, 0], [0, 4, 1, 1]])
    forms = FormTables(
        np.array([1]), np.zeros((1, 1), np.uint8), np.zeros((1, 1), np.uint8), np.array([0, 5]),
        bit, np.array([[bias, 0, 0]]),
    )  # fmt: skip
    rows, stop = decode_records(np.array([0b11101, 0], np.uint8), forms, -1)
    assert stop == 2
    assert rows.tolist() == [[0, 5 + bias, -1, 0, 0], [0, bias, 0, 0, 1]]
    empty, _stop = decode_records(np.zeros(0, np.uint8), forms, -1)
    assert len(empty) == 0
