"""A QR symbol as vector squares, for tickets and labels.

In: a code text. Out: one shape on a sheet, quiet zone included, sharp at any size.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import segno

from firstpiece.model.page import INK, ShapeItem

if TYPE_CHECKING:
    from numpy.typing import NDArray

QUIET_MODULES = 4
"""Modules left white all round, ISO/IEC 18004."""

SMALLEST_MODULE_MM = 0.25
"""Finer than this a hand-held camera reads badly; common practice, no source."""


def symbol_matrix(text: str) -> NDArray[np.bool_]:
    """Return the symbol's modules (n, n) bool, True is dark, row 0 at the top.

    Error correction M, the smallest version that holds the text (ISO/IEC 18004).
    """
    code = segno.make_qr(text, error="m", boost_error=False)
    return np.array([list(row) for row in code.matrix], dtype=bool)


def draw_symbol(x: float, y: float, side_mm: float, text: str) -> ShapeItem:
    """Return the symbol in a square whose lower left corner is (x, y), quiet zone included."""
    matrix = symbol_matrix(text)
    n = len(matrix) + 2 * QUIET_MODULES
    module = side_mm / n
    rings = []
    for row, line in enumerate(matrix):
        top = y + side_mm - (row + QUIET_MODULES) * module
        # Runs of dark modules as one rectangle: no hairlines between neighbours.
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
        for first, last in zip(edges[0::2], edges[1::2], strict=True):
            left = x + (first + QUIET_MODULES) * module
            right = x + (last + QUIET_MODULES) * module
            low = top - module
            rings.append(np.array([[left, low], [right, low], [right, top], [left, top]]))
    return ShapeItem(tuple(rings), fill=INK)
