"""Ways between areas of one thread that later areas of other threads will cover.

Input: the areas in sewing order. Output: travel from one area to the next that stays under what
is sewn afterwards, so that thread need not be cut; or nothing, when cloth lies between.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.geometry.polygon import paint_polygon
from firstpiece.geometry.polyline import polyline_length, run_along
from firstpiece.kernels.route import cheapest_path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

PIXEL_MM = 0.25
STEP_MM = 2.5
# Half a thread and what pull may uncover: nearer the rim of what covers it, travel could show.
CLEAR_MM = 0.3
MARGIN_MM = 12.0
# A cut costs about as much time as this much travel (6 s at 700 stitches/min of 2.5 mm is 175 mm),
# but each mm of travel also thickens the work: common sense, no source.
LONGEST_MM = 60.0
# Lightness (0 to 100) by which a later thread may be lighter than the travel below it.
LIGHTER_BY = 30.0
FINISHED_COST = 6.0
# On what is finished travel lies open; more of it than this is cut instead.
MOST_SHOWN_MM = 4.0


@dataclass(slots=True, eq=False)
class Corridors:
    """When each pixel of the design is covered for good, and by how light a thread.

    Parameters
    ----------
    polygons : sequence of shapely.Polygon
        Areas in sewing order.
    lightness : sequence of float
        CIELAB-like lightness of each area's thread, 0 to 100.
    """

    polygons: Sequence[shapely.Polygon]
    lightness: Sequence[float]
    when: NDArray[np.int32] = field(init=False)
    left_mm: float = field(init=False)
    top_mm: float = field(init=False)

    def __post_init__(self) -> None:
        x0, y0, x1, y1 = shapely.total_bounds(list(self.polygons))
        self.left_mm, self.top_mm = float(x0) - 1.0, float(y1) + 1.0
        n_rows = int((y1 - y0 + 2.0) / PIXEL_MM) + 1
        n_cols = int((x1 - x0 + 2.0) / PIXEL_MM) + 1
        self.when = np.full((n_rows, n_cols), -1, dtype=np.int32)
        for n, polygon in enumerate(self.polygons):
            self._paint(n, polygon)

    def _paint(self, n: int, polygon: shapely.Polygon) -> None:
        x0, y0, x1, y1 = polygon.bounds
        r0 = max(0, int((self.top_mm - y1) / PIXEL_MM) - 1)
        c0 = max(0, int((x0 - self.left_mm) / PIXEL_MM) - 1)
        shape = (int((y1 - y0) / PIXEL_MM) + 4, int((x1 - x0) / PIXEL_MM) + 4)
        window = self.when[r0 : r0 + shape[0], c0 : c0 + shape[1]]
        mask = paint_polygon(
            polygon, self.left_mm + c0 * PIXEL_MM, self.top_mm - r0 * PIXEL_MM, PIXEL_MM,
            window.shape,
        )  # fmt: skip
        window[mask > 0] = n

    def find(self, n: int, start_mm: Floats, end_mm: Floats) -> Floats | None:
        """Return travel from area n to area n + 1, or None when it would show or be too long.

        Parameters
        ----------
        n : int
            Place in the sewing order of the area just sewn.
        start_mm, end_mm : (2,) float64 [mm]

        Returns
        -------
        (k, 2) float64 [mm] or None
        """
        if float(np.hypot(*(end_mm - start_mm))) > LONGEST_MM:
            return None
        ends = np.vstack([start_mm, end_mm])
        cells = self._cells(ends)
        low = np.maximum(cells.min(axis=0) - int(MARGIN_MM / PIXEL_MM), 0)
        high = cells.max(axis=0) + int(MARGIN_MM / PIXEL_MM) + 1
        cost = self._cost(n, self.when[low[0] : high[0], low[1] : high[1]])
        start, goal = (_nearest_open(cost, c - low) for c in cells)
        if start is None or goal is None:
            return None
        found = cheapest_path(cost, start[0], start[1], goal[0], goal[1])
        if not len(found):
            return None
        rc = found + low
        if PIXEL_MM * np.count_nonzero(self.when[rc[:, 0], rc[:, 1]] == n) > MOST_SHOWN_MM:
            return None
        xy = np.column_stack(
            [self.left_mm + (rc[:, 1] + 0.5) * PIXEL_MM, self.top_mm - (rc[:, 0] + 0.5) * PIXEL_MM]
        )
        line = np.vstack([start_mm, xy[1:-1], end_mm])
        if polyline_length(line) > LONGEST_MM:
            return None
        return run_along(line, STEP_MM, sag_mm=0.2)

    def nearest_inside(self, n: int, place_mm: Floats) -> Floats:
        """Return the point (2,) [mm] nearest to a place that lies well inside area n's rim."""
        area = self.polygons[n]
        inner = area.buffer(-CLEAR_MM - PIXEL_MM)
        line = shapely.shortest_line(area if inner.is_empty else inner, shapely.Point(place_mm))
        return np.asarray(line.coords[0])

    def _cost(self, n: int, when: NDArray[np.int32]) -> NDArray[np.float64]:
        """Return the cost of each pixel; infinite where travel would lie on cloth or show."""
        own = self.lightness[n]
        dark_enough = np.array([light <= own + LIGHTER_BY for light in self.lightness] + [False])
        later = (when > n) & dark_enough[when]
        later |= when == n + 1
        mask = (later | (when == n)).astype(np.uint8)
        inside = cv2.distanceTransform(np.pad(mask, 1), cv2.DIST_L2, 5)[1:-1, 1:-1] * PIXEL_MM
        cost = np.where(inside >= CLEAR_MM, 1.0, 3.0)
        cost = np.where(when == n, FINISHED_COST, cost)
        open_ = (mask > 0) & ((inside >= CLEAR_MM) | (when == n) | (when == n + 1))
        return np.where(open_, cost, np.inf)

    def _cells(self, xy_mm: Floats) -> NDArray[np.int64]:
        row = np.floor((self.top_mm - xy_mm[:, 1]) / PIXEL_MM)
        col = np.floor((xy_mm[:, 0] - self.left_mm) / PIXEL_MM)
        cells = np.column_stack([row, col]).astype(np.int64)
        return np.clip(cells, 0, np.array(self.when.shape) - 1)


def _nearest_open(cost: NDArray[np.float64], cell: NDArray[np.int64]) -> NDArray[np.int64] | None:
    """Return the passable pixel nearest to a cell within a millimetre, or None."""
    r = int(1.0 / PIXEL_MM)
    low = np.maximum(cell - r, 0)
    window = np.isfinite(cost[low[0] : cell[0] + r + 1, low[1] : cell[1] + r + 1])
    spots = np.argwhere(window) + low
    if not len(spots):
        return None
    return np.asarray(spots[int(np.argmin(((spots - cell) ** 2).sum(axis=1)))])
