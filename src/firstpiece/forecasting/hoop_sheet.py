"""The hooped sheet as a raster of square elements, and its displacements under forces.

Input: the box of the stitches, hoop, moduli per element. Output: a factored system that answers
many load cases. The raster hangs on the stitches' box, so a design moved whole settles alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from firstpiece.kernels.membrane import stiffness_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Hoop

MOST_CELLS, FINEST_MM = 9000, 1.0
# Cloth round a design when no hoop is known.
ROUND_MM = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class HoopGrid:
    """Square elements over the inside of a hoop.

    Parameters
    ----------
    left_mm, bottom_mm, cell_mm : float [mm]
    rows, cols : int
        Elements up and across.
    nodes_mm : (n, 2) float64 [mm]
        Row by row from the lower left.
    quads : (rows·cols, 4) int64
    is_held : (n,) bool
        Nodes on the hoop or outside it.
    """

    left_mm: float
    bottom_mm: float
    cell_mm: float
    rows: int
    cols: int
    nodes_mm: NDArray[np.float64]
    quads: NDArray[np.int64]
    is_held: NDArray[np.bool_]

    def in_cells(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points in units of elements from the lower left."""
        corner = np.array([self.left_mm, self.bottom_mm])
        result: NDArray[np.float64] = (points_mm - corner) / self.cell_mm
        return result

    def as_field(self, moved: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (k, 2n) displacements as (k, rows + 1, cols + 1, 2)."""
        return moved.reshape(len(moved), self.rows + 1, self.cols + 1, 2)


def hoop_grid(box_mm: tuple[float, float, float, float], hoop: Hoop | None) -> HoopGrid:
    """Return the raster of a hoop centred on a box (x0, y0, x1, y1)."""
    x0, y0, x1, y1 = box_mm
    width = hoop.width_mm if hoop else x1 - x0 + 2 * ROUND_MM
    height = hoop.height_mm if hoop else y1 - y0 + 2 * ROUND_MM
    cell = max(FINEST_MM, math.sqrt(width * height / MOST_CELLS))
    cols, rows = math.ceil(width / cell), math.ceil(height / cell)
    left, bottom = (x0 + x1) / 2 - cols * cell / 2, (y0 + y1) / 2 - rows * cell / 2
    x, y = left + np.arange(cols + 1) * cell, bottom + np.arange(rows + 1) * cell
    nodes = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    row, col = np.meshgrid(np.arange(rows), np.arange(cols), indexing="ij")
    first = (row * (cols + 1) + col).ravel()
    quads = np.column_stack([first, first + 1, first + cols + 2, first + cols + 1])
    away = (nodes - np.array([(x0 + x1) / 2, (y0 + y1) / 2])) / np.array([width, height]) * 2
    rim = 1.0 - cell / max(width, height)
    if hoop is not None and hoop.is_round:
        is_held = (away**2).sum(axis=1) >= rim**2
    else:
        is_held = np.abs(away).max(axis=1) >= rim
    return HoopGrid(left, bottom, cell, rows, cols, nodes, quads.astype(np.int64), is_held)


@dataclass(frozen=True, slots=True, eq=False)
class FactoredSheet:
    """A sheet's stiffness, factored once; solves any number of load cases."""

    free: NDArray[np.int64]
    factor: Any

    def displacements(self, forces: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (k, 2n) float64 displacements [mm] of (k, 2n) nodal forces [N]."""
        is_free = self.free >= 0
        moved = np.zeros_like(forces)
        # One case at a time: solving many together is slower in this library.
        for case, load in enumerate(forces):
            if load.any():
                moved[case, is_free] = self.factor.solve(np.ascontiguousarray(load[is_free]))
        return moved


def factor_sheet(
    nodes_mm: NDArray[np.float64],
    quads: NDArray[np.int64],
    moduli: NDArray[np.float64],
    is_held: NDArray[np.bool_],
) -> FactoredSheet:
    """Return the factored stiffness of a sheet.

    Parameters
    ----------
    nodes_mm : (n, 2) float64 [mm]
    quads : (m, 4) int64
    moduli : (m, 3, 3) float64 [N/mm]
    is_held : (2n,) bool
        Degrees of freedom that stay where they are.
    """
    free = np.cumsum(~is_held) - 1
    free[is_held] = -1
    data, columns, start = stiffness_rows(nodes_mm, quads, moduli, free)
    matrix = sp.csc_matrix((data, columns, start))
    factor = splu(
        matrix,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return FactoredSheet(free, factor)
