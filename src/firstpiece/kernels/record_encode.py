"""Coded moves to byte records: lay down each record's fixed bits, then its data bits.

Input: the form and the number codes of every record. Output: the cells (bytes or nibbles) of all
records, one after the other. The way back is ``record_decode``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


class BitTables(NamedTuple):
    """Record forms to be written; f forms of at most b cells, k data bits in all.

    ``length`` (f,) int64 cells; ``fixed`` (f, b) uint8. Data bits of form i are rows
    ``first_bit[i]:first_bit[i + 1]`` of ``bit`` (k, 4) int64: cell, bit in the cell, field (0 x,
    1 y, 2 thread), place of the bit in the field's code.
    """

    length: NDArray[np.int64]
    fixed: NDArray[np.uint8]
    first_bit: NDArray[np.int64]
    bit: NDArray[np.int64]


@njit(cache=True)
def encode_records(
    form: NDArray[np.int64], codes: NDArray[np.int64], tables: BitTables
) -> NDArray[np.uint8]:
    """Return the cells of all records.

    Parameters
    ----------
    form : (n,) int64
        The form of each record.
    codes : (n, 3) int64
        Codes of x, y and thread; those that a form does not carry are not looked at.
    tables : BitTables

    Returns
    -------
    (m,) uint8
    """
    total = 0
    for i in range(form.size):
        total += tables.length[form[i]]
    out = np.zeros(total, dtype=np.uint8)
    at = 0
    for i in range(form.size):
        f = form[i]
        n = tables.length[f]
        for k in range(n):
            out[at + k] = tables.fixed[f, k]
        for b in range(tables.first_bit[f], tables.first_bit[f + 1]):
            code = codes[i, tables.bit[b, 2]]
            out[at + tables.bit[b, 0]] |= np.uint8(
                ((code >> tables.bit[b, 3]) & 1) << tables.bit[b, 1]
            )
        at += n
    return out
