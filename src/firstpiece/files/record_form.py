"""One form of record: a pattern of fixed bits and of bits that carry numbers.

``0`` and ``1`` are fixed, ``x``, ``y`` and ``t`` carry the move and the thread, most significant
first, ``-`` is written 0 and ignored. A form marked as an escape is looked for before all others,
and no other form is ever written so that it would be taken for it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import numpy as np

from firstpiece.errors import LayoutError
from firstpiece.files.record_number import BitNumber, read_bit_number
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.files.layout_lines import TablePlace

MOST_FORM_CELLS = 64
ENTRIES = ("action", "pattern", "x", "y", "t", "escape", "note")

Table = dict[str, Any]
Clash = tuple[tuple[str, int], ...]
"""A move that must not be written: the numbers that would look like an escape."""


@dataclass(frozen=True, slots=True)
class RecordForm:
    """One form of record: what it means, its fixed bits, and the numbers it carries.

    ``mask`` and ``fixed`` hold one byte for each cell of the record (a byte, or a nibble);
    ``numbers`` maps ``x``, ``y`` and ``t`` to how they are written; ``clashes`` are the moves that
    would be taken for an escape.
    """

    action: Action
    mask: bytes
    fixed: bytes
    numbers: dict[str, BitNumber]
    line: int
    is_escape: bool = False
    clashes: tuple[Clash, ...] = ()

    @property
    def length(self) -> int:
        """Cells of the record."""
        return len(self.mask)

    @property
    def moves(self) -> bool:
        """True when the record carries both x and y."""
        return "x" in self.numbers and "y" in self.numbers

    @property
    def reach(self) -> int:
        """The largest L such that every move but none with |x|, |y| ≤ L can be written [steps]."""
        if not self.moves:
            return 0
        reach = min(self.numbers["x"].reach, self.numbers["y"].reach)
        for clash in self.clashes:
            far = max(abs(value) for _letter, value in clash)
            # A clash with no move at all (0, 0) takes nothing from a real move.
            if far or len(clash) == 1:
                reach = min(reach, far - 1)
        return max(reach, 0)

    def can_move(self, dx: NDArray[np.int64], dy: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return (n,) bool: the moves (n,) int64 [steps] that this form can express."""
        if not self.moves:
            still: NDArray[np.bool_] = (dx == 0) & (dy == 0)
            return still
        able = self.numbers["x"].can_write(dx) & self.numbers["y"].can_write(dy)
        values = {"x": dx, "y": dy}
        for clash in self.clashes:
            able &= ~np.all([values[letter] == value for letter, value in clash], axis=0)
        return able


def read_form(entry: Table, place: TablePlace, cell_bits: int) -> RecordForm:
    """Return the form that one [[record]] table describes.

    Parameters
    ----------
    entry : dict
    place : TablePlace
        Names the lines of the table's entries.
    cell_bits : int
        8 for records of bytes, 4 for records of nibbles.

    Raises
    ------
    LayoutError
    """
    if unknown := sorted(set(entry) - set(ENTRIES)):
        raise LayoutError(
            _("“{word}” is not an entry known here").format(word=unknown[0]),
            where=place(unknown[0]),
            remedy=_("use: {words}").format(words=", ".join(ENTRIES)),
        )
    words = {a.word: a for a in Action}
    if str(entry.get("action")) not in words:
        raise LayoutError(
            _("“{word}” is not an action").format(word=entry.get("action")),
            where=place("action"),
            remedy=_("use one of: {words}").format(words=", ".join(words)),
        )
    bits = _read_pattern(entry, place, cell_bits)
    numbers = {}
    for letter in "xyt":
        at = [i for i, bit in enumerate(bits) if bit == letter]
        places = tuple((i // cell_bits, cell_bits - 1 - i % cell_bits) for i in at)
        if places:
            numbers[letter] = read_bit_number(places, entry.get(letter), place(letter))
        elif letter in entry:
            raise LayoutError(
                _("{letter} is described but the pattern has no {letter} bits").format(
                    letter=letter
                ),
                where=place(letter),
                remedy=_("add them to the pattern"),
            )
    cells = [bits[i : i + cell_bits] for i in range(0, len(bits), cell_bits)]
    mask = bytes(int("".join("1" if b in "01" else "0" for b in cell), 2) for cell in cells)
    fixed = bytes(int("".join("1" if b == "1" else "0" for b in cell), 2) for cell in cells)
    line = place.lines.line(place.table, place.count)
    return RecordForm(
        words[str(entry["action"])], mask, fixed, numbers, line, is_escape=bool(entry.get("escape"))
    )


def _read_pattern(entry: Table, place: TablePlace, cell_bits: int) -> str:
    bits = re.sub(r"[\s|]", "", str(entry.get("pattern", "")))
    if not bits or re.search(r"[^01xyt-]", bits):
        raise LayoutError(
            _("a pattern is written with 0, 1, x, y, t and -, with blanks between bytes"),
            where=place("pattern"),
            remedy=_("write it like “{sample}”").format(sample="0xxxxxxx 0yyyyyyy"),
        )
    if len(bits) % cell_bits or len(bits) > cell_bits * MOST_FORM_CELLS:
        whole = _("bytes") if cell_bits == 8 else _("nibbles")
        raise LayoutError(
            _("{n} bits do not make whole {cells} (1 to {most})").format(
                n=len(bits), cells=whole, most=MOST_FORM_CELLS
            ),
            where=place("pattern"),
            remedy=_("add or remove bits; pad with -"),
        )
    if ("x" in bits) != ("y" in bits):
        raise LayoutError(
            _("a record carries both x and y or neither"),
            where=place("pattern"),
            remedy=_("give the other one its bits"),
        )
    return bits


def find_clash(form: RecordForm, escape: RecordForm) -> Clash | None:
    """Return the move of ``form`` that would be taken for ``escape``; () when there is none.

    None says that the two cannot be kept apart by leaving out one move.
    """
    n = min(form.length, escape.length)
    for i in range(n):
        if form.mask[i] & escape.mask[i] & (form.fixed[i] ^ escape.fixed[i]):
            return ()
    clash = []
    for letter in sorted(set(form.numbers) & {"x", "y"}):
        number = form.numbers[letter]
        known = [i < n and bool(escape.mask[i] >> bit & 1) for i, bit in number.places]
        if all(known):
            bits = [escape.fixed[i] >> bit & 1 for i, bit in number.places]
            clash.append((letter, number.value_of(bits)))
    return tuple(clash) or None


def are_distinct(first: RecordForm, second: RecordForm) -> bool:
    """Return whether some bit fixed in both differs, so no bytes match both."""
    return any(
        m1 & m2 & (f1 ^ f2)
        for m1, m2, f1, f2 in zip(first.mask, second.mask, first.fixed, second.fixed, strict=False)
    )
