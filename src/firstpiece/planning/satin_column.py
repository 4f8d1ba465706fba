"""One satin column as a value: its penetrations, its middle line and its widths."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class SatinColumn:
    """One zigzag column.

    Parameters
    ----------
    points_mm : (n, 2) float64 [mm]
        Penetrations in sewing order; the column may as well be sewn from its other end.
    axis_mm : (k, 2) float64 [mm]
        Middle of the column, in the same direction; for a centre-run underlay.
    widths_mm : (k,) float64 [mm]
        Width at each axis point, before widening for pull.
    is_closed : bool
        True for a ring: the last stitches lie on the first.
    """

    points_mm: NDArray[np.float64]
    axis_mm: NDArray[np.float64]
    widths_mm: NDArray[np.float64]
    is_closed: bool = False

    def __post_init__(self) -> None:
        n, k = len(self.points_mm), len(self.axis_mm)
        object.__setattr__(self, "points_mm", frozen_array(self.points_mm, np.float64, (n, 2)))
        object.__setattr__(self, "axis_mm", frozen_array(self.axis_mm, np.float64, (k, 2)))
        object.__setattr__(self, "widths_mm", frozen_array(self.widths_mm, np.float64, (k,)))
