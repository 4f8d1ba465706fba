"""Cloth left bare inside an area, found on a raster, and the short rows that close it.

Input: the area and its own stitches. Output: the bare share and the bare spots as polygons, so that
they can be sewn over before the cover goes on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.geometry.polygon import paint_polygon
from firstpiece.kernels.coverage import Grid, close_ends, count_layers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.planning.path import Path

PIXEL_MM = 0.1
# Bare spots that a circle of this diameter does not fit into are left: thread spreads over them.
SPOT_MM = 0.35
RIM_MM = 0.15


def bare_spots(
    polygon: shapely.Polygon, paths: Sequence[Path], thread_mm: float
) -> tuple[float, list[shapely.Polygon]]:
    """Return the bare share of an area and its bare spots, each a little enlarged.

    Parameters
    ----------
    polygon : shapely.Polygon
    paths : sequence of Path
        All stitches of the area.
    thread_mm : float [mm]
        Laid width.
    """
    x0, y0, x1, y1 = polygon.bounds
    n_rows, n_cols = int((y1 - y0) / PIXEL_MM) + 5, int((x1 - x0) / PIXEL_MM) + 5
    grid = Grid(x0 - 2 * PIXEL_MM, y1 + 2 * PIXEL_MM, PIXEL_MM, n_rows, n_cols)
    mask = paint_polygon(polygon, grid.left_mm, grid.top_mm, PIXEL_MM, (n_rows, n_cols))
    inside = cv2.distanceTransform(mask, cv2.DIST_L2, 5) * PIXEL_MM > RIM_MM
    if not inside.any():
        return 0.0, []
    bare = inside & (_covered(paths, thread_mm, grid) == 0)
    share = float(np.count_nonzero(bare) / np.count_nonzero(inside))
    if not share:
        return 0.0, []
    deep = cv2.distanceTransform(np.pad(bare, 1).astype(np.uint8), cv2.DIST_L2, 5)[1:-1, 1:-1]
    spots = (deep * PIXEL_MM > SPOT_MM / 2).astype(np.uint8)
    found, _ = cv2.findContours(spots, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return share, [_spot(c, grid, polygon) for c in found]


def _covered(paths: Sequence[Path], thread_mm: float, grid: Grid) -> NDArray[np.uint16]:
    lines = [p.xy_mm for p in paths if len(p) > 1]
    if not lines:
        return np.zeros((grid.n_rows, grid.n_cols), dtype=np.uint16)
    segments = np.vstack([np.hstack([xy[:-1], xy[1:]]) for xy in lines])
    ends = np.vstack(lines)
    layers = count_layers(segments, np.full(len(segments), thread_mm / 2), grid)
    close_ends(layers, ends, np.full(len(ends), thread_mm / 2), grid)
    return np.asarray(layers)


def _spot(contour: NDArray[np.int32], grid: Grid, polygon: shapely.Polygon) -> shapely.Polygon:
    xy = contour[:, 0, :].astype(np.float64) + 0.5
    xy = np.column_stack([grid.left_mm + xy[:, 0] * PIXEL_MM, grid.top_mm - xy[:, 1] * PIXEL_MM])
    middle = shapely.Polygon(xy).buffer(0) if len(xy) > 3 else shapely.MultiPoint(xy)
    reach = shapely.union(middle, shapely.MultiPoint(xy)).buffer(SPOT_MM / 2 + PIXEL_MM)
    spot = reach.intersection(polygon)
    largest: shapely.Polygon = max(shapely.get_parts(spot), key=lambda p: p.area)
    return largest
