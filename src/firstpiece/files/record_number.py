"""Whole numbers in scattered bits: two's complement, sign and size, unsigned, or weights."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import LayoutError

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST_BITS = 32
MOST_WEIGHTS = 16
"""Weighted bits are looked up in a table of all their sums."""

FORMS = ("two's complement", "sign and size", "unsigned")


@dataclass(frozen=True, slots=True)
class BitNumber:
    """A number in bits.

    Parameters
    ----------
    places : tuple of (byte, bit)
        In the order of the pattern, most significant first; bit 0 is the lowest of its byte.
    weights : tuple of int
        What each bit adds; 0 marks a sign bit, which makes the sum negative.
    low, high : int
        The smallest and largest number that can be written.
    reach : int
        Every number from -reach to reach can be written.
    codes : dict
        For weighted bits: number → bits, the first place being the highest bit.
    """

    places: tuple[tuple[int, int], ...]
    weights: tuple[int, ...]
    low: int
    high: int
    reach: int
    codes: dict[int, int] | None = field(default=None, compare=False)

    def can_write(self, values: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return (n,) bool: which of the (n,) int64 numbers can be written."""
        inside: NDArray[np.bool_] = (values >= self.low) & (values <= self.high)
        if self.codes is not None:
            known = np.fromiter(self.codes, dtype=np.int64, count=len(self.codes))
            inside &= np.isin(values, known)
        return inside

    def encode(self, values: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return (n,) int64 bit codes of numbers that can be written; first place highest."""
        n_bits = len(self.places)
        if self.codes is not None:
            table = np.zeros(self.high - self.low + 1, dtype=np.int64)
            for number, code in self.codes.items():
                table[number - self.low] = code
            coded: NDArray[np.int64] = table[values - self.low]
            return coded
        if self.weights[0] == 0:
            sign = (values < 0).astype(np.int64) << (n_bits - 1)
            signed: NDArray[np.int64] = np.abs(values) | sign
            return signed
        plain: NDArray[np.int64] = values & ((1 << n_bits) - 1)
        return plain


def read_bit_number(places: tuple[tuple[int, int], ...], how: object, where: str) -> BitNumber:
    """Return the number that a layout describes for these bits.

    Parameters
    ----------
    places : tuple of (byte, bit)
    how : str or list of int or None
        One of ``FORMS``, a weight per bit, or None for two's complement.
    where : str
        Named in faults.

    Raises
    ------
    LayoutError
        When the description is unknown, too wide, or does not match the bits.
    """
    n = len(places)
    if n > MOST_BITS:
        msg = f"a number of {n} bits is wider than {MOST_BITS}"
        raise LayoutError(msg, where=where, remedy="use fewer bits")
    if isinstance(how, list):
        return _weighted(places, how, where)
    form = FORMS[0] if how is None else how
    top = 1 << (n - 1)
    if form == "two's complement":
        weights = (-top, *(1 << i for i in range(n - 2, -1, -1)))
        return BitNumber(places, weights, -top, top - 1, top - 1)
    if form == "sign and size":
        weights = (0, *(1 << i for i in range(n - 2, -1, -1)))
        return BitNumber(places, weights, 1 - top, top - 1, top - 1)
    if form == "unsigned":
        weights = tuple(1 << i for i in range(n - 1, -1, -1))
        return BitNumber(places, weights, 0, 2 * top - 1, 0)
    msg = f"“{form}” is not a way to write a number"
    raise LayoutError(msg, where=where, remedy=f"use {', '.join(FORMS)} or a list of weights")


def _weighted(places: tuple[tuple[int, int], ...], how: list[object], where: str) -> BitNumber:
    """Return a number whose bits add up; for each sum the code with the fewest bits is kept."""
    n = len(places)
    weights = tuple(w for w in how if isinstance(w, int) and not isinstance(w, bool) and w)
    if len(weights) != n or len(how) != n:
        msg = f"{len(how)} weights are given for {n} bits, each a whole number but not 0"
        raise LayoutError(msg, where=where, remedy="give one weight per bit, as in the pattern")
    if n > MOST_WEIGHTS or sum(map(abs, weights)) > 1 << 20:
        msg = f"weighted bits may be {MOST_WEIGHTS} at most and add up to a million"
        raise LayoutError(msg, where=where, remedy="use fewer or smaller weights")
    all_codes = np.arange(1 << n, dtype=np.int64)
    bits = all_codes[:, None] >> np.arange(n - 1, -1, -1) & 1
    sums = bits @ np.array(weights, dtype=np.int64)
    order = np.lexsort((all_codes, bits.sum(axis=1), sums))
    numbers, first = np.unique(sums[order], return_index=True)
    codes = dict(zip(numbers.tolist(), all_codes[order][first].tolist(), strict=True))
    reach = 0
    while reach + 1 in codes and -reach - 1 in codes:
        reach += 1
    return BitNumber(places, weights, int(numbers[0]), int(numbers[-1]), reach, codes)
