"""Data Matrix symbols, held to the worked symbol of the standard.

Source: ISO/IEC 16022 (that it is the annex's example: from memory): "123456" in ECC 200 is a 10 ×
10 symbol with the data codewords 142 164 186 and the check codewords 114 25 5 88 102; generator
polynomial 62 111 15 48 228 over the field of 256 elements with prime polynomial 301. The codewords
are read back here from the modules by the placement rule of the standard's Annex F.
"""

import numpy as np
import pytest

from firstpiece.paperwork.code_symbol import CodeKind, symbol_matrix

DATA, CHECK = [142, 164, 186], [114, 25, 5, 88, 102]
GENERATOR, PRIME = [62, 111, 15, 48, 228], 301
# One codeword: row and column of its eight modules from the lower right one, highest bit first.
SHAPE = [(-2, -2), (-2, -1), (-1, -2), (-1, -1), (-1, 0), (0, -2), (0, -1), (0, 0)]


def times(a, b):
    """Multiply in the field of 256 elements."""
    product = 0
    while b:
        product ^= a if b & 1 else 0
        a = (a << 1) ^ (PRIME if a & 128 else 0)
        b >>= 1
    return product


def check_words(data):
    """Divide by the generator polynomial; the remainder is the check codewords."""
    rest = [0] * len(GENERATOR)
    for word in data:
        lead = word ^ rest[0]
        rest = [a ^ times(lead, g) for a, g in zip([*rest[1:], 0], GENERATOR, strict=True)]
    return rest


def places(n):
    """Return the eight modules of every codeword of an n × n mapping matrix (n a multiple of 8)."""
    taken, words = set(), []

    def put(row, column):
        word = []
        for down, right in SHAPE:
            r, c = row + down, column + right
            if r < 0:
                r, c = r + n, c + 4 - (n + 4) % 8
            if c < 0:
                r, c = r + 4 - (n + 4) % 8, c + n
            word.append((r, c))
        taken.update(word)
        words.append(word)

    def sweep(row, column, rise):
        """Go up to the right, or down to the left, until the matrix is left."""
        while True:
            if 0 <= row < n and 0 <= column < n and (row, column) not in taken:
                put(row, column)
            row, column = row - rise, column + rise
            inside = (row >= 0 and column < n) if rise > 0 else (row < n and column >= 0)
            if not inside:
                return row, column

    row, column = 4, 0
    while row < n or column < n:
        row, column = sweep(row, column, 2)
        row, column = sweep(row + 1, column + 3, -2)
        row, column = row + 3, column + 1
    return words


def codewords_of(matrix):
    """Read a small square symbol: finder taken off, then eight modules a word."""
    inner = matrix[1:-1, 1:-1]
    return [int("".join(str(int(inner[r, c])) for r, c in word), 2) for word in places(len(inner))]


def test_the_check_words_follow_from_the_generator():
    assert check_words(DATA) == CHECK


def test_the_worked_symbol():
    matrix = symbol_matrix("123456", CodeKind.DATA_MATRIX)
    assert matrix.shape == (10, 10)
    assert codewords_of(matrix) == DATA + CHECK


def test_a_changed_module_is_noticed():
    matrix = symbol_matrix("123456", CodeKind.DATA_MATRIX).copy()
    matrix[4, 4] ^= True
    assert codewords_of(matrix) != DATA + CHECK


@pytest.mark.parametrize("text", ["123456", "J7L1P1H3F9A1C2DGD0W2V9Q", "B3GD0W2V9Q"])
def test_the_finder_is_an_l_with_a_dotted_upper_right(text):
    """Left and lower edge solid, the others alternating, dark at the left (ISO/IEC 16022, 5.2)."""
    matrix = symbol_matrix(text, CodeKind.DATA_MATRIX)
    assert matrix[:, 0].all()
    assert matrix[-1].all()
    dots = np.arange(len(matrix)) % 2 == 0
    assert np.array_equal(matrix[0], dots)
    assert np.array_equal(matrix[:, -1], ~dots)
