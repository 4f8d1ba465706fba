"""Coordinates along and across a family of curved rows in an area.

A field of directions is spread from guides by Laplace's equation; two potentials follow it: ``u``
along the rows and ``v`` across them, the second with unit slope so that its level lines are evenly
apart (local/global steps after Sorkine & Alexa 2007; the idea after Knöppel et al. 2015). Rows that
are straight in (u, v) are curved in the area. Input: a polygon and guides. Output: ``RowField``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse
from scipy.ndimage import binary_dilation, map_coordinates
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree

from firstpiece.geometry.polygon import paint_polygon

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MOST_PIXELS = 12_000
FINEST_MM = 0.3
UNIT_STEPS = 30
NEWTON_STEPS = 6
# Pixels beyond the rim, so that places on it lie inside the grid's meshes.
MARGIN = 3
# How firmly a guide holds its pixel against its neighbours.
PIN_WEIGHT = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class RowField:
    """Two coordinates on a grid.

    Parameters
    ----------
    left_mm, low_mm, pixel_mm : float [mm]
        Centre of pixel (0, 0), y upwards, and their distance.
    uv_mm : (2, h, w) float64 [mm]
        Along and across the rows; beyond the area carried on.
    inside : (h, w) bool
        Pixels on which the field was solved.
    bend_per_mm : float [rad/mm]
        Sharpest bend of the rows (95 % of places bend less).
    """

    left_mm: float
    low_mm: float
    pixel_mm: float
    uv_mm: Floats
    inside: NDArray[np.bool_]
    bend_per_mm: float

    def to_rows(self, xy_mm: Floats) -> Floats:
        """Return (n, 2) float64 [mm]: u and v of points (n, 2) float64 [mm]."""
        rc = (xy_mm[:, ::-1] - [self.low_mm, self.left_mm]).T / self.pixel_mm
        return np.stack(
            [map_coordinates(plane, rc, order=1, mode="nearest") for plane in self.uv_mm], axis=1
        )

    def from_rows(self, uv_mm: Floats) -> Floats:
        """Return (n, 2) float64 [mm]: the points of u and v, by Newton's method from the grid."""
        rows, cols = np.nonzero(self.inside)
        tree = cKDTree(self.uv_mm[:, rows, cols].T)
        _, near = tree.query(uv_mm)
        xy = np.column_stack([cols[near], rows[near]]) * self.pixel_mm
        xy = np.asarray(xy + np.array([self.left_mm, self.low_mm]))
        d = self.pixel_mm / 2
        right, up = np.array([d, 0.0]), np.array([0.0, d])
        for _ in range(NEWTON_STEPS):
            off = uv_mm - self.to_rows(xy)
            du = (self.to_rows(xy + right) - self.to_rows(xy - right)) / (2 * d)
            dv = (self.to_rows(xy + up) - self.to_rows(xy - up)) / (2 * d)
            size = du[:, 0] * dv[:, 1] - du[:, 1] * dv[:, 0]
            size = np.where(np.abs(size) < 0.05, 1.0, size)
            step = np.column_stack(
                [
                    (dv[:, 1] * off[:, 0] - dv[:, 0] * off[:, 1]) / size,
                    (du[:, 0] * off[:, 1] - du[:, 1] * off[:, 0]) / size,
                ]
            )
            far = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-12)
            xy = xy + step * np.minimum(1.0, 2 * self.pixel_mm / far)[:, None]
        return xy


def solve_row_field(polygon: shapely.Polygon, guides: Floats) -> RowField:
    """Return the field of rows that follow guides.

    Parameters
    ----------
    polygon : shapely.Polygon
    guides : (g, 4) float64 [mm]
        Place x, y and unit direction of the rows there; at least one.
    """
    left, low, right, high = polygon.bounds
    pixel = max(FINEST_MM, math.sqrt(polygon.area / MOST_PIXELS))
    left, low = left - MARGIN * pixel, low - MARGIN * pixel
    n_cols, n_rows = (
        int((right - left) / pixel) + MARGIN + 2,
        int((high - low) / pixel) + MARGIN + 2,
    )
    top = low + (n_rows - 0.5) * pixel
    mask = paint_polygon(polygon, left - pixel / 2, top, pixel, (n_rows, n_cols))[::-1] > 0
    inside = _one_piece(binary_dilation(mask, iterations=2), mask)
    grid = _Mesh(inside, pixel)
    along = grid.spread(_pinned(guides, left, low, pixel, grid))
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    v = grid.follow(normal)
    for _ in range(UNIT_STEPS):
        v = grid.follow(_unit(grid.slope(v)))
    normal = _unit(grid.slope(v))
    u = grid.follow(np.column_stack([normal[:, 1], -normal[:, 0]]))
    planes = np.stack([grid.carried_on(u), grid.carried_on(v)])
    return RowField(left, low, pixel, planes, inside, grid.bend(normal))


def _one_piece(wide: NDArray[np.bool_], mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return wide if wide.any() else np.ones_like(mask)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.hypot(vectors[:, :1], vectors[:, 1:]), 1e-9))


def _pinned(guides: Floats, left: float, low: float, pixel: float, grid: _Mesh) -> Floats:
    """Return (k, 3): pixel number and direction; of guides in one pixel the mean."""
    tree = cKDTree(np.column_stack([grid.col, grid.row]))
    _, near = tree.query((guides[:, :2] - [left, low]) / pixel)
    places = np.unique(near)
    mean = [guides[near == p, 2:].mean(axis=0) for p in places]
    return np.column_stack([places, np.array(mean)])


class _Mesh:
    """The pixels of a mask as unknowns, with the edges between neighbours."""

    def __init__(self, inside: NDArray[np.bool_], pixel_mm: float) -> None:
        self.inside, self.pixel = inside, pixel_mm
        self.number = np.full(inside.shape, -1)
        self.row, self.col = np.nonzero(inside)
        n = len(self.row)
        self.number[self.row, self.col] = np.arange(n)
        beside = self._edges(self.number[:, :-1], self.number[:, 1:], 0)
        above = self._edges(self.number[:-1], self.number[1:], 1)
        self.edges = np.vstack([beside, above])
        a, b = self.edges[:, 0], self.edges[:, 1]
        m = len(self.edges)
        rows = np.repeat(np.arange(m), 2)
        self.rise = sparse.csr_matrix(
            (np.tile([-1.0, 1.0], m), (rows, np.column_stack([a, b]).ravel())), (m, n)
        )
        # A whisper of weight on every value keeps separate pieces from floating.
        self.laplace = (self.rise.T @ self.rise + 1e-9 * sparse.identity(n)).tocsc()
        self.solver = splu(self.laplace)

    @staticmethod
    def _edges(first: NDArray[np.int64], second: NDArray[np.int64], axis: int) -> NDArray[np.int64]:
        """Return (e, 3): two neighbouring unknowns and the axis from one to the other."""
        both = (first >= 0) & (second >= 0)
        return np.column_stack([first[both], second[both], np.full(both.sum(), axis)])

    def spread(self, pinned: Floats) -> Floats:
        """Return unit directions (n, 2) spread from pinned ones."""
        n = len(self.row)
        place = pinned[:, 0].astype(np.int64)
        weight = np.zeros(n)
        weight[place] = PIN_WEIGHT
        wanted = np.zeros((n, 2))
        wanted[place] = PIN_WEIGHT * pinned[:, 1:]
        spread = splu((self.laplace + sparse.diags(weight)).tocsc()).solve(wanted)
        return _unit(spread)

    def follow(self, vectors: Floats) -> Floats:
        """Return the potential (n,) [mm] whose slope is nearest to vectors (n, 2)."""
        a, b, axis = self.edges.T
        rise = 0.5 * self.pixel * (vectors[a, axis] + vectors[b, axis])
        return np.asarray(self.solver.solve(self.rise.T @ rise))

    def slope(self, values: Floats) -> Floats:
        """Return the slope (n, 2) of a potential: the mean of the edges at each pixel."""
        a, b, axis = self.edges.T
        rise = (values[b] - values[a]) / self.pixel
        total, count = np.zeros((len(values), 2)), np.zeros((len(values), 2))
        for end in (a, b):
            np.add.at(total, (end, axis), rise)
            np.add.at(count, (end, axis), 1.0)
        return total / np.maximum(count, 1.0)

    def bend(self, normal: Floats) -> float:
        """Return how much directions turn from pixel to pixel [rad/mm], 95 % point."""
        a, b, _ = self.edges.T
        cross = normal[a, 0] * normal[b, 1] - normal[a, 1] * normal[b, 0]
        return float(np.percentile(np.abs(np.arcsin(np.clip(cross, -1, 1))), 95) / self.pixel)

    def carried_on(self, values: Floats) -> Floats:
        """Return values on the whole grid, beyond the mask along their slope at its rim."""
        slope = self.slope(values)
        tree = cKDTree(np.column_stack([self.row, self.col]))
        rows, cols = np.indices(self.inside.shape)
        _, near = tree.query(np.column_stack([rows.ravel(), cols.ravel()]))
        dx = (cols.ravel() - self.col[near]) * self.pixel
        dy = (rows.ravel() - self.row[near]) * self.pixel
        plane = values[near] + slope[near, 0] * dx + slope[near, 1] * dy
        return np.asarray(plane.reshape(self.inside.shape))
