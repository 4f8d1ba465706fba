"""How close together the needle goes in: a proxy for hard spots and cut cloth, nothing more.

Input: a plan. Output: for each penetration, how many lie within one square millimetre round it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from firstpiece.model.forecast import ForecastMap

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan

DISC_RADIUS_MM = 1.0 / math.sqrt(math.pi)


def holes_per_mm2(plan: StitchPlan) -> NDArray[np.int64]:
    """Return (k,) int64: penetrations, itself included, in the 1 mm² disc round each STITCH row.

    A disc, not a raster of squares, so that the count does not change when the design is moved.
    Holes entered twice count twice. No density limit for damage has been published, so no chance
    of damage is given.
    """
    points = plan.xy_mm[plan.is_stitch]
    if not len(points):
        return np.zeros(0, dtype=np.int64)
    tree = cKDTree(points)
    counts = tree.query_ball_point(points, DISC_RADIUS_MM, return_length=True)
    return np.asarray(counts, dtype=np.int64)


def hole_density(
    plan: StitchPlan, left_mm: float, top_mm: float, cell_mm: float, shape: tuple[int, int]
) -> ForecastMap:
    """Return the penetrations in the square millimetre round the middle of each cell of a grid."""
    rows, cols = shape
    points = plan.xy_mm[plan.is_stitch]
    across = left_mm + (np.arange(cols) + 0.5) * cell_mm
    down = top_mm - (np.arange(rows) + 0.5) * cell_mm
    counts = np.zeros(shape, dtype=np.float32)
    if len(points) and counts.size:
        middles = np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2)
        found = cKDTree(points).query_ball_point(middles, DISC_RADIUS_MM, return_length=True)
        counts = np.asarray(found, dtype=np.float32).reshape(shape)
    return ForecastMap(counts, left_mm, top_mm, cell_mm, "1/mm²")
