"""Travel that nobody sees: ways for the needle under stitches that are sewn later.

Input: an area the thread may run in and two places. Output: penetrations along a way inside it, or
nothing when there is none worth going.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.geometry.polygon import paint_polygon
from firstpiece.geometry.polyline import polyline_length, run_along
from firstpiece.kernels.route import cheapest_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

PIXEL_MM = 0.25
STEP_MM = 2.5
# Nearer the rim than this a travel run may peek out under the row ends.
INSET_MM = 0.35


@dataclass(slots=True, eq=False)
class HiddenWays:
    """Ways inside one area, on a raster made once and only when a straight way fails.

    Parameters
    ----------
    area : shapely.Polygon
        Where the thread will be covered.
    """

    area: shapely.Polygon
    cost: NDArray[np.float64] | None = None
    left_mm: float = 0.0
    low_mm: float = 0.0

    def find(self, start_mm: Floats, end_mm: Floats) -> Floats | None:
        """Return (k, 2) float64 [mm] from start to end inside the area, or None."""
        straight = np.vstack([start_mm, end_mm])
        if self.area.covers(shapely.LineString(straight)):
            return run_along(straight, STEP_MM)
        if self.cost is None:
            self._rasterise()
        assert self.cost is not None
        pixels = self._pixels(straight)
        found = cheapest_path(self.cost, *pixels[0], *pixels[1])
        if not len(found):
            return None
        xy = np.column_stack(
            [self.left_mm + found[:, 1] * PIXEL_MM, self.low_mm + found[:, 0] * PIXEL_MM]
        )
        return run_along(np.vstack([start_mm, xy[1:-1], end_mm]), STEP_MM, sag_mm=0.2)

    def length_mm(self, start_mm: Floats, end_mm: Floats) -> float:
        """Return the length [mm] of the way found, ``inf`` when there is none."""
        way = self.find(start_mm, end_mm)
        return float("inf") if way is None else polyline_length(way)

    def _rasterise(self) -> None:
        x0, y0, x1, y1 = self.area.bounds
        self.left_mm, self.low_mm = x0 - PIXEL_MM, y0 - PIXEL_MM
        h = int((y1 - y0) / PIXEL_MM) + 4
        w = int((x1 - x0) / PIXEL_MM) + 4
        top_mm = self.low_mm + (h - 0.5) * PIXEL_MM
        mask = paint_polygon(self.area, self.left_mm - PIXEL_MM / 2, top_mm, PIXEL_MM, (h, w))[::-1]
        mask = np.ascontiguousarray(mask)
        inside = cv2.distanceTransform(mask, cv2.DIST_L2, 5) * PIXEL_MM
        near_rim = inside < INSET_MM + PIXEL_MM
        self.cost = np.where(mask > 0, np.where(near_rim, 4.0, 1.0), np.inf)

    def _pixels(self, xy: Floats) -> NDArray[np.int64]:
        """Return row and column of the passable pixels nearest to points."""
        assert self.cost is not None
        rc = np.rint((xy[:, ::-1] - [self.low_mm, self.left_mm]) / PIXEL_MM).astype(np.int64)
        rc = np.clip(rc, 0, np.array(self.cost.shape) - 1)
        for k in range(len(rc)):
            if not np.isfinite(self.cost[rc[k, 0], rc[k, 1]]):
                rc[k] = self._nearest_open(rc[k])
        return rc

    def _nearest_open(self, rc: NDArray[np.int64]) -> NDArray[np.int64]:
        assert self.cost is not None
        r = 6
        r0, c0 = max(0, rc[0] - r), max(0, rc[1] - r)
        window = np.isfinite(self.cost[r0 : rc[0] + r + 1, c0 : rc[1] + r + 1])
        spots = np.argwhere(window) + np.array([r0, c0])
        if not len(spots):
            return rc
        gaps = ((spots - rc) ** 2).sum(axis=1)
        return np.asarray(spots[int(np.argmin(gaps))])
