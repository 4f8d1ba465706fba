"""A polygon cut into parallel rows, and the rows gathered into cells that can be sewn in one go.

Input: a polygon and the direction and distance of rows. Output: ``RowGrid``, in a frame turned so
that rows run along x. Cells are the boustrophedon decomposition (Choset & Pignon 1997).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.kernels.scanline import cut_rows, drop_slit_links, label_cells, link_spans

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

MIN_OVERLAP_MM = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class RowGrid:
    """Spans of a polygon on evenly spaced rows, in the turned frame.

    Parameters
    ----------
    angle_rad : float [rad]
        Direction of the rows; ``turn_points`` with ``angle_rad`` leads back.
    spacing_mm : float [mm]
        Distance of rows as used, never more than asked for.
    row_start : (n_rows + 1,) int64
    row : (s,) int64
        Row of each span.
    y_mm, left_mm, right_mm : (s,) float64 [mm]
    cells : tuple of (k,) int64
        Spans of each cell, one a row, rising.
    links : (m, 2) int64
        Pairs of spans of different cells that touch: the lower, the upper.
    cell : (s,) int64
        Cell of each span.
    """

    angle_rad: float
    spacing_mm: float
    row_start: Ints
    row: Ints
    y_mm: Floats
    left_mm: Floats
    right_mm: Floats
    cells: tuple[Ints, ...]
    links: Ints
    cell: Ints


def turn_points(xy_mm: Floats, angle_rad: float) -> Floats:
    """Return (n, 2) float64 [mm] points turned anticlockwise about the origin."""
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    return np.asarray(xy_mm @ np.array([[c, s], [-s, c]]))


def polygon_edges(area: shapely.Geometry) -> Floats:
    """Return the edges of all rings of an area.

    Parameters
    ----------
    area : shapely.Polygon or shapely.MultiPolygon

    Returns
    -------
    (m, 4) float64 [mm]
        x0, y0, x1, y1.
    """
    xy, ring = shapely.get_coordinates(
        shapely.get_rings(shapely.get_parts(area)), return_index=True
    )
    if len(xy) < 2:
        return np.empty((0, 4))
    same = ring[1:] == ring[:-1]
    return np.hstack([xy[:-1][same], xy[1:][same]])


def cut_into_rows(
    area: shapely.Geometry, *, angle_rad: float, spacing_mm: float, edge_mm: float
) -> RowGrid:
    """Return the rows of an area on one global grid, first and last ``edge_mm`` from its extremes.

    Parameters
    ----------
    area : shapely.Polygon or shapely.MultiPolygon
    angle_rad : float [rad]
        Direction of rows, anticlockwise from x.
    spacing_mm : float [mm]
        Largest distance of rows.
    edge_mm : float [mm]
        Distance of the outermost rows from the area's extremes.
    """
    edges = polygon_edges(area)
    turned = turn_points(edges.reshape(-1, 2), -angle_rad).reshape(-1, 4)
    heights = turned[:, [1, 3]]
    low, high = (float(heights.min()), float(heights.max())) if len(turned) else (0.0, 0.0)
    room = high - low - 2 * edge_mm
    if room <= 0:
        first, n_rows, step = (low + high) / 2, 1, spacing_mm
    else:
        n_rows = math.ceil(room / spacing_mm - 1e-9) + 1
        first, step = low + edge_mm, room / (n_rows - 1)
    row_start, crossing = cut_rows(turned, first, step, n_rows)
    row_start = row_start // 2
    left, right = crossing[0::2].copy(), crossing[1::2].copy()
    links = link_spans(row_start, left, right, MIN_OVERLAP_MM)
    links = drop_slit_links(links, left, right)
    cell = label_cells(len(left), links)
    row = np.repeat(np.arange(n_rows), np.diff(row_start))
    by_cell = np.argsort(cell, kind="stable")
    n_cells = int(cell.max()) + 1 if len(cell) else 0
    bounds = np.searchsorted(cell[by_cell], np.arange(1, n_cells))
    cells = tuple(np.split(by_cell, bounds)) if n_cells else ()
    between = links[cell[links[:, 0]] != cell[links[:, 1]]]
    y = np.asarray(first + row * step, dtype=np.float64)
    return RowGrid(angle_rad, step, row_start, row, y, left, right, cells, between, cell)
