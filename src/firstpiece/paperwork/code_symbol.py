"""A two-dimensional code as a vector outline, for tickets and labels: QR or Data Matrix.

In: a code text and which symbol. Out: its modules, and one shape on a sheet, quiet zone included,
sharp at any size. Everything that prints a code draws it here.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import segno
import shapely
import zxingcpp

from firstpiece.model.page import INK, ShapeItem

if TYPE_CHECKING:
    from numpy.typing import NDArray

QUIET_MODULES = {"qr": 4, "data-matrix": 2}
"""Modules left white all round: four for ISO/IEC 18004, one and a spare for ISO/IEC 16022."""

ERROR_LEVEL = "q"
"""A quarter of a QR symbol may be lost to lint and folds (ISO/IEC 18004, level Q)."""

SMALLEST_MODULE_MM = 0.25
"""Finer than this a hand-held camera reads badly; common practice, no source."""


class CodeKind(StrEnum):
    """The symbols a shop may choose from, by the names of their standards."""

    QR = "qr"
    DATA_MATRIX = "data-matrix"


def symbol_matrix(
    text: str, kind: CodeKind = CodeKind.QR, *, level: str = ERROR_LEVEL
) -> NDArray[np.bool_]:
    """Return the symbol's modules without quiet zone.

    Parameters
    ----------
    text : str
    kind : CodeKind
    level : str
        Error correction of a QR symbol: l, m, q or h. A Data Matrix (ECC 200) has its own.

    Returns
    -------
    (n, n) bool
        True is dark, row 0 at the top; the smallest square symbol that holds the text.

    References
    ----------
    ISO/IEC 18004 (QR code); ISO/IEC 16022 (Data Matrix, ECC 200).
    """
    if kind == CodeKind.QR:
        code = segno.make_qr(text, error=level, boost_error=False)
        return np.array([list(row) for row in code.matrix], dtype=bool)
    barcode = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    light: NDArray[np.uint8] = np.array(barcode.to_image(scale=1, add_quiet_zones=False))
    dark: NDArray[np.bool_] = light == 0
    return dark


def draw_symbol(
    x: float, y: float, side_mm: float, text: str, kind: CodeKind = CodeKind.QR
) -> ShapeItem:
    """Return the symbol in a square whose lower left corner is (x, y), quiet zone included."""
    matrix = symbol_matrix(text, kind)
    quiet = QUIET_MODULES[kind]
    module = side_mm / (len(matrix) + 2 * quiet)
    rings = [
        np.array([x, y + side_mm]) + np.array([1.0, -1.0]) * (ring + quiet) * module
        for ring in _outlines(matrix)
    ]
    return ShapeItem(tuple(rings), fill=INK)


def _outlines(matrix: NDArray[np.bool_]) -> list[NDArray[np.float64]]:
    """Return the closed outlines of dark modules, (n, 2) columns and rows.

    Modules that touch are one area: drawn one by one, a viewer leaves hairlines between them.
    """
    row, column = np.nonzero(matrix)
    squares = shapely.box(column, row, column + 1, row + 1)
    edges = shapely.get_parts(shapely.boundary(shapely.coverage_union_all(squares)))
    edges = shapely.simplify(edges, 0.0)
    return [shapely.get_coordinates(edge)[:-1] for edge in edges]
