"""Byte records to moves: match each record's fixed bits, add up the weights of its set bits.

Input: the bytes of the records and tables that describe the record forms. Output: one row per
record, and the place of the first cell that fits no form.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


class FormTables(NamedTuple):
    """Record forms as arrays; f forms of at most b cells, k data bits in all.

    A cell is a byte, or a nibble in the low half of one. ``length`` (f,) int64 cells; ``mask`` and
    ``fixed`` (f, b) uint8: a record matches where ``cell & mask == fixed``, the first form that
    does so wins. Data bits of form i are rows ``first_bit[i]:first_bit[i + 1]`` of ``bit`` (k, 4)
    int64: cell, bit (0 is the lowest), field (0 x, 1 y, 2 thread), weight; weight 0 marks a sign
    bit, which turns the field's sum negative. ``bias`` (f, 3) int64 is added to each field's sum.
    """

    length: NDArray[np.int64]
    mask: NDArray[np.uint8]
    fixed: NDArray[np.uint8]
    first_bit: NDArray[np.int64]
    bit: NDArray[np.int64]
    bias: NDArray[np.int64]


@njit(cache=True)
def _match_form(data: NDArray[np.uint8], at: int, forms: FormTables) -> int:
    """Return the first form whose fixed bits agree at this byte, or -1."""
    for f in range(forms.length.size):
        n = forms.length[f]
        if at + n > data.size:
            continue
        fits = True
        for k in range(n):
            if data[at + k] & forms.mask[f, k] != forms.fixed[f, k]:
                fits = False
                break
        if fits:
            return f
    return -1


@njit(cache=True)
def decode_records(
    data: NDArray[np.uint8], forms: FormTables, end_form: int
) -> tuple[NDArray[np.int64], int]:
    """Return the records read and the byte at which reading stopped.

    Parameters
    ----------
    data : (n,) uint8
        The cells of the records, header cut off.
    forms : FormTables
    end_form : int
        The form that ends the program, or -1 when the end of the bytes does.

    Returns
    -------
    rows : (m, 5) int64
        Form, x, y, thread and cell offset of each record.
    stop : int
        The first cell not read: after the end record, at the end, or where nothing matches.
    """
    shortest = forms.length.min() if forms.length.size else 1
    rows = np.empty((data.size // max(shortest, 1) + 1, 5), dtype=np.int64)
    m, at = 0, 0
    total = np.zeros(3, dtype=np.int64)
    sign = np.ones(3, dtype=np.int64)
    while at < data.size:
        f = _match_form(data, at, forms)
        if f < 0:
            break
        total[:] = forms.bias[f]
        sign[:] = 1
        for b in range(forms.first_bit[f], forms.first_bit[f + 1]):
            if data[at + forms.bit[b, 0]] >> forms.bit[b, 1] & 1:
                if forms.bit[b, 3] == 0:
                    sign[forms.bit[b, 2]] = -1
                else:
                    total[forms.bit[b, 2]] += forms.bit[b, 3]
        rows[m, 0] = f
        for field in range(3):
            rows[m, 1 + field] = sign[field] * total[field]
        rows[m, 4] = at
        m += 1
        at += forms.length[f]
        if f == end_form:
            break
    return rows[:m], at
