"""Fills whose rows are not straight and evenly apart: curved ones, and ones that thin out.

Rows are laid straight and even in warped coordinates and carried back. Input: an area and what its
recipe asks for. Output: a ``Warp``, or None for plain rows.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
import shapely

from firstpiece.geometry.medial_axis import medial_axis
from firstpiece.geometry.polyline import arc_lengths, points_at
from firstpiece.geometry.row_field import RowField, solve_row_field
from firstpiece.geometry.rows import turn_points

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Rows thin out to this share of their density, so that the last are not lost.
THINNEST_SHARE = 0.12
EDGE_STEP_MM = 0.8
GUIDE_STEP_MM = 1.0
# How far a stitch may cut the bend of a curved row.
SAG_MM = 0.08
SHORTEST_STITCH_MM = 1.2
# A person's guide holds a disc of this share of the area's size.
DISC_SHARE = 0.2


class Warp(Protocol):
    """Coordinates in which rows are straight along the first and even across the second."""

    def to_rows(self, xy_mm: Floats) -> Floats:
        """Return the coordinates (n, 2) float64 [mm] of points."""

    def from_rows(self, uv_mm: Floats) -> Floats:
        """Return the points (n, 2) float64 [mm] of coordinates."""


@dataclass(frozen=True, slots=True)
class FadeWarp:
    """Rows across a direction that lie ever farther apart along it, or ever nearer.

    Parameters
    ----------
    angle_rad : float [rad]
        The way along which rows thin out.
    first_mm, last_mm : float [mm]
        Where they begin and end to, along that way.
    """

    angle_rad: float
    first_mm: float
    last_mm: float

    @classmethod
    def over(cls, polygon: shapely.Polygon, angle_rad: float) -> FadeWarp:
        """Return the warp that thins rows out over the whole of an area."""
        way = np.array([math.cos(angle_rad), math.sin(angle_rad)])
        along = shapely.get_coordinates(polygon) @ way
        return cls(angle_rad, float(along.min()), float(along.max()))

    def to_rows(self, xy_mm: Floats) -> Floats:
        """Return (n, 2) float64 [mm]: along the rows, and the rows' count times their spacing."""
        turned = turn_points(xy_mm, math.pi / 2 - self.angle_rad)
        return np.column_stack([turned[:, 0], np.interp(turned[:, 1], *self._table())])

    def from_rows(self, uv_mm: Floats) -> Floats:
        """Return (n, 2) float64 [mm] points."""
        place, count = self._table()
        turned = np.column_stack([uv_mm[:, 0], np.interp(uv_mm[:, 1], count, place)])
        return turn_points(turned, self.angle_rad - math.pi / 2)

    def _table(self) -> tuple[Floats, Floats]:
        """Return places along the way and the integral of density up to them [mm]."""
        place = np.linspace(self.first_mm, self.last_mm, 200)
        share = np.linspace(1.0, THINNEST_SHARE, 200)
        step = np.diff(place) * (share[:-1] + share[1:]) / 2
        count = np.concatenate([[0.0], np.cumsum(step)])
        # Beyond both ends rows go on as dense as at the end.
        far = np.array([self.first_mm - 50.0, self.last_mm + 50.0])
        ends = np.array([-50.0, count[-1] + 50.0 * THINNEST_SHARE])
        return (
            np.concatenate([far[:1], place, far[1:]]),
            np.concatenate([ends[:1], count, ends[1:]]),
        )


def shape_guides(polygon: shapely.Polygon) -> Floats:
    """Return guides along the longest way through an area, (g, 4) float64 [mm]: place, direction.

    Parameters
    ----------
    polygon : shapely.Polygon
    """
    axis = medial_axis(polygon)
    line = _longest_way(axis.nodes_mm, axis.edges)
    if len(line) < 2:
        x, y = axis.nodes_mm[0]
        return np.array([[x, y, 1.0, 0.0]])
    length = float(arc_lengths(line)[-1])
    at = np.linspace(0.0, length, max(2, math.ceil(length / GUIDE_STEP_MM)) + 1)
    reach = 3 * GUIDE_STEP_MM
    ahead = points_at(line, np.minimum(at + reach, length))
    behind = points_at(line, np.maximum(at - reach, 0.0))
    way = ahead - behind
    way /= np.maximum(np.hypot(way[:, :1], way[:, 1:]), 1e-9)
    return np.hstack([points_at(line, at), way])


def asked_guides(guides: Sequence[tuple[float, float, float]], size_mm: float) -> Floats:
    """Return a person's guides, (g, 4) float64 [mm], each turned the way of the one before.

    A guide holds a disc, not a point: in the plane a point holds next to nothing of a field.

    Parameters
    ----------
    guides : sequence of (float, float, float)
    size_mm : float [mm]
        Size of the area.
    """
    ways: list[Floats] = []
    for _x, _y, angle in guides:
        way = np.array([math.cos(angle), math.sin(angle)])
        ways.append(-way if ways and float(way @ ways[-1]) < 0 else way)
    places = np.array([guide[:2] for guide in guides])
    apart = np.hypot(*np.moveaxis(places[:, None] - places[None], 2, 0))
    np.fill_diagonal(apart, np.inf)
    made = []
    for place, way, gaps in zip(places, ways, apart, strict=True):
        radius = min(DISC_SHARE * size_mm, float(gaps.min()) / 3)
        made.append(np.hstack([place + radius * _disc(), np.tile(way, (len(_disc()), 1))]))
    return np.vstack(made)


def _disc() -> Floats:
    """Return points spread over the unit disc, (n, 2)."""
    x, y = np.meshgrid(np.linspace(-1, 1, 17), np.linspace(-1, 1, 17))
    points = np.column_stack([x.ravel(), y.ravel()])
    return np.asarray(points[np.hypot(points[:, 0], points[:, 1]) <= 1.0])


def curve_warp(polygon: shapely.Polygon, guides: Floats) -> RowField:
    """Return the warp of rows that follow guides."""
    return solve_row_field(polygon, guides)


def curved_length(field: RowField, length_mm: float) -> float:
    """Return the stitch length [mm] at which stitches cut no bend of the rows by much."""
    if field.bend_per_mm < 1e-6:
        return length_mm
    return float(max(SHORTEST_STITCH_MM, min(length_mm, math.sqrt(8 * SAG_MM / field.bend_per_mm))))


def warped_area(polygon: shapely.Polygon, warp: Warp) -> shapely.Geometry:
    """Return an area in a warp's coordinates, its edges cut fine enough to bend."""
    fine = shapely.segmentize(polygon, EDGE_STEP_MM)
    turned = shapely.transform(fine, warp.to_rows)
    return turned if turned.is_valid else shapely.buffer(turned, 0)


def _longest_way(nodes: Floats, edges: NDArray[np.int64]) -> Floats:
    """Return the nodes of the longest shortest way through a graph (twice the farthest node)."""
    if not len(edges):
        return nodes[:1]
    near: list[list[tuple[int, float]]] = [[] for _ in nodes]
    for a, b in edges.tolist():
        d = float(np.hypot(*(nodes[a] - nodes[b])))
        near[a].append((b, d))
        near[b].append((a, d))
    start, _ = _farthest(near, int(edges[0, 0]))
    end, parent = _farthest(near, start)
    way = [end]
    while parent[way[-1]] >= 0:
        way.append(parent[way[-1]])
    return nodes[way]


def _farthest(near: list[list[tuple[int, float]]], start: int) -> tuple[int, list[int]]:
    """Return the farthest node from a start, and each node's parent on the way there."""
    gone = [math.inf] * len(near)
    parent = [-1] * len(near)
    gone[start] = 0.0
    todo = [(0.0, start)]
    best = start
    while todo:
        d, node = heapq.heappop(todo)
        if d > gone[node]:
            continue
        if d > gone[best]:
            best = node
        for other, step in near[node]:
            if d + step < gone[other] - 1e-12:
                gone[other], parent[other] = d + step, node
                heapq.heappush(todo, (d + step, other))
    return best, parent
