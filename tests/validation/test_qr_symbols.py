"""Printed QR codes, held to the standard's worked symbol and its capacity table.

Source: ISO/IEC 18004 Annex I ("01234567", version 1-M; that it is the annex's example: from memory)
and Table 7 (alphanumeric capacities).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstpiece.model.ticket import Ticket
from firstpiece.paperwork.code_symbol import ERROR_LEVEL, symbol_matrix

if TYPE_CHECKING:
    import numpy as np

WORKED = bytes.fromhex("10200C566180EC11EC11EC11EC11EC11A524D4C1ED36C7872C55")
"""Sixteen data words, then ten error words, as printed in the annex."""


def codewords(matrix: np.ndarray) -> bytes:
    """Read a version 1 symbol's words back: up and down in columns of two, the mask taken off."""
    n = 21
    # Three bits of the format information beside the upper left finder name the mask.
    mask = int("".join(str(int(matrix[8, c])) for c in (2, 3, 4)), 2) ^ 0b101
    masks = {
        0: lambda r, c: (r + c) % 2, 1: lambda r, c: r % 2, 2: lambda r, c: c % 3,
        3: lambda r, c: (r + c) % 3, 4: lambda r, c: (r // 2 + c // 3) % 2,
        5: lambda r, c: r * c % 2 + r * c % 3, 6: lambda r, c: (r * c % 2 + r * c % 3) % 2,
        7: lambda r, c: ((r + c) % 2 + r * c % 3) % 2,
    }  # fmt: skip
    bits, up = [], True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for r in range(n - 1, -1, -1) if up else range(n):
            for c in (right, right - 1):
                in_finder = (r < 9 and (c < 9 or c > 12)) or (r > 12 and c < 9)
                if in_finder or r == 6 or c == 6:
                    continue
                bits.append(int(matrix[r, c]) ^ (masks[mask](r, c) == 0))
        up = not up
    return bytes(int("".join(map(str, bits[i : i + 8])), 2) for i in range(0, 208, 8))


def test_worked_symbol():
    """The words of "01234567" in version 1-M are those of the annex."""
    assert codewords(symbol_matrix("01234567", level="m")) == WORKED


def test_a_changed_module_is_noticed():
    matrix = symbol_matrix("01234567", level="m").copy()
    matrix[12, 12] ^= True
    assert codewords(matrix) != WORKED


def test_a_ticket_fits_the_table():
    """At level Q version 2 holds 29 letters and digits and version 3 holds 47 (from memory)."""
    ticket = Ticket(1234567, 12, 345, 400, "3f9a1c2d", "apron-natural", "natural", "M")
    n_signs = len(ticket.code)
    side = len(symbol_matrix(ticket.code))
    version = (side - 17) // 4
    assert ERROR_LEVEL == "q"
    assert version == (2 if n_signs <= 29 else 3)
    assert n_signs <= 47
