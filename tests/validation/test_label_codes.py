"""The QR symbols on labels, held to the worked symbol of the standard.

Source: ISO/IEC 18004 Annex I (that it is the annex's example: from memory): "01234567" in version
1-M has the data codewords 10 20 0C 56 61 80 EC 11 EC 11 EC 11 EC 11 EC 11 and the error correction
A5 24 D4 C1 ED 36 C7 87 2C 55. The symbol is read back here from its modules.
"""

import numpy as np

from firstpiece.paperwork.code_symbol import symbol_matrix

CODEWORDS = bytes.fromhex("10200C566180EC11EC11EC11EC11EC11A524D4C1ED36C7872C55")
MASKS = [
    lambda r, c: (r + c) % 2 == 0, lambda r, c: r % 2 == 0, lambda r, c: c % 3 == 0,
    lambda r, c: (r + c) % 3 == 0, lambda r, c: (r // 2 + c // 3) % 2 == 0,
    lambda r, c: r * c % 2 + r * c % 3 == 0, lambda r, c: (r * c % 2 + r * c % 3) % 2 == 0,
    lambda r, c: ((r + c) % 2 + r * c % 3) % 2 == 0,
]  # fmt: skip


def codewords_of(matrix):
    """Read a version 1 symbol: mask from its format bits, then the zigzag of module pairs."""
    n = len(matrix)
    format_bits = [int(matrix[8][c]) for c in (2, 3, 4)]
    mask = int("".join(map(str, format_bits)), 2) ^ 0b101
    kept = np.ones((n, n), dtype=bool)
    kept[:9, :9] = kept[:9, -8:] = kept[-8:, :9] = False
    kept[6, :] = kept[:, 6] = False
    bits, upward = [], True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for row in range(n - 1, -1, -1) if upward else range(n):
            bits += [
                int(matrix[row][column]) ^ int(MASKS[mask](row, column))
                for column in (right, right - 1)
                if kept[row, column]
            ]
        upward = not upward
    return bytes(int("".join(map(str, bits[i : i + 8])), 2) for i in range(0, len(bits), 8))


def test_the_worked_symbol():
    """ISO/IEC 18004 Annex I: version 1-M of "01234567"."""
    assert codewords_of(symbol_matrix("01234567")) == CODEWORDS


def test_a_changed_module_is_noticed():
    matrix = symbol_matrix("01234567").copy()
    matrix[12, 12] ^= True
    assert codewords_of(matrix) != CODEWORDS
