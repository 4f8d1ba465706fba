"""Whole numbers in scattered bits: two's complement, sign and size, offset, or weights."""

from __future__ import annotations

from dataclasses import dataclass, field
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import LayoutError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

MOST_BITS = 32
MOST_WEIGHTS = 16
"""Weighted bits are looked up in a table of all their sums."""

FORMS = ("two's complement", "one's complement", "sign and size", "offset", "unsigned")


@dataclass(frozen=True, slots=True)
class BitNumber:
    """A number in bits.

    Parameters
    ----------
    places : tuple of (cell, bit)
        In the order of the pattern, most significant first; bit 0 is the lowest of its cell (a
        byte or a nibble).
    weights : tuple of int
        What each bit adds; 0 marks a sign bit, which makes the sum negative.
    low, high : int
        The smallest and largest number that can be written.
    reach : int
        Every number from -reach to reach can be written.
    bias : int
        Added to the sum of the weights.
    codes : (high - low + 1,) int64 or None
        For weighted bits: the code of ``low``, ``low + 1`` …, or -1 where there is none; the first
        place is the highest bit.
    """

    places: tuple[tuple[int, int], ...]
    weights: tuple[int, ...]
    low: int
    high: int
    reach: int
    bias: int = 0
    codes: NDArray[np.int64] | None = field(default=None, compare=False)

    def can_write(self, values: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return (n,) bool: which of the (n,) int64 numbers can be written."""
        inside: NDArray[np.bool_] = (values >= self.low) & (values <= self.high)
        if self.codes is not None:
            inside &= self.codes[np.clip(values - self.low, 0, len(self.codes) - 1)] >= 0
        return inside

    def encode(self, values: NDArray[np.int64]) -> NDArray[np.int64]:
        """Return (n,) int64 bit codes of numbers that can be written; first place highest."""
        n_bits = len(self.places)
        mask = (1 << n_bits) - 1
        if self.codes is not None:
            coded: NDArray[np.int64] = self.codes[values - self.low]
            return coded
        if self.weights[0] == 0:
            sign = (values < 0).astype(np.int64) << (n_bits - 1)
            signed: NDArray[np.int64] = np.abs(values) | sign
            return signed
        # One's complement is the only form whose sign bit weighs one less than a power of two.
        shift = -1 if self.weights[0] == 1 - (1 << (n_bits - 1)) and n_bits > 1 else 0
        moved = values - self.bias
        plain: NDArray[np.int64] = np.where(moved < 0, moved + shift, moved) & mask
        return plain

    def value_of(self, bits: Sequence[int]) -> int:
        """Return the number that the bits, in the order of the places, stand for."""
        sign = 1
        total = self.bias
        for bit, weight in zip(bits, self.weights, strict=True):
            if bit and weight == 0:
                sign = -1
            total += bit * weight
        return sign * total


def read_bit_number(places: tuple[tuple[int, int], ...], how: object, where: str) -> BitNumber:
    """Return the number that a layout describes for these bits.

    Parameters
    ----------
    places : tuple of (cell, bit)
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
        raise LayoutError(
            _("a number of {n} bits is wider than {most}").format(n=n, most=MOST_BITS),
            where=where,
            remedy=_("use fewer bits"),
        )
    if isinstance(how, list):
        return _weighted(places, how, where)
    form = FORMS[0] if how is None else how
    top = 1 << (n - 1)
    rest = tuple(1 << i for i in range(n - 2, -1, -1))
    if form == "two's complement":
        return BitNumber(places, (-top, *rest), -top, top - 1, top - 1)
    if form == "one's complement" and n > 1:
        return BitNumber(places, (1 - top, *rest), 1 - top, top - 1, top - 1)
    if form == "sign and size":
        return BitNumber(places, (0, *rest), 1 - top, top - 1, top - 1)
    if form == "offset":
        return BitNumber(places, (top, *rest), -top, top - 1, top - 1, bias=-top)
    if form == "unsigned":
        return BitNumber(places, (top, *rest), 0, 2 * top - 1, 0)
    raise LayoutError(
        _("“{how}” is not a way to write a number in {n} bits").format(how=form, n=n),
        where=where,
        remedy=_("use {forms} or a list of weights").format(forms=", ".join(FORMS)),
    )


def _weighted(places: tuple[tuple[int, int], ...], how: list[object], where: str) -> BitNumber:
    """Return a number whose bits add up; for each sum the code with the fewest bits is kept."""
    n = len(places)
    weights = tuple(w for w in how if isinstance(w, int) and not isinstance(w, bool) and w)
    if len(weights) != n or len(how) != n:
        raise LayoutError(
            _("{given} weights are given for {n} bits, each a whole number but not 0").format(
                given=len(how), n=n
            ),
            where=where,
            remedy=_("give one weight per bit, as in the pattern"),
        )
    if n > MOST_WEIGHTS or sum(map(abs, weights)) > 1 << 20:
        raise LayoutError(
            _("weighted bits may be {most} at most and add up to a million").format(
                most=MOST_WEIGHTS
            ),
            where=where,
            remedy=_("use fewer or smaller weights"),
        )
    all_codes = np.arange(1 << n, dtype=np.int64)
    bits = all_codes[:, None] >> np.arange(n - 1, -1, -1) & 1
    sums = bits @ np.array(weights, dtype=np.int64)
    order = np.lexsort((all_codes, bits.sum(axis=1), sums))
    numbers, first = np.unique(sums[order], return_index=True)
    low, high = int(numbers[0]), int(numbers[-1])
    table = np.full(high - low + 1, -1, dtype=np.int64)
    table[numbers - low] = all_codes[order][first]
    reach = 0
    while -reach - 1 >= low and reach + 1 <= high and min(
        table[reach + 1 - low], table[-reach - 1 - low]
    ) >= 0:  # fmt: skip
        reach += 1
    return BitNumber(places, weights, low, high, reach, codes=table)
