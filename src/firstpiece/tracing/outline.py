"""A label map to smooth faces: every edge between two labels is drawn once and used by both.

Input: labels per pixel. Output: a partition in millimetres, y up. Edges are followed along pixel
sides, split at corners, smoothed as far as allowed, thinned; where smoothing made edges cross, the
edges concerned fall back to weaker smoothing, at last to the pixel sides, which never cross.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.partition import Partition
from firstpiece.geometry.smoothing import (
    find_corners,
    sharpen_corners,
    smooth_arc,
    smooth_within,
)
from firstpiece.kernels.crack_edges import crack_middles, join_diagonals, trace_cracks
from firstpiece.model.region import BARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_LIMIT_PX = 0.4
STRENGTHS = np.array([0.5, 1.5, 4.0, 12.0, 40.0, 120.0, 400.0, 1200.0, 4e3, 1.2e4, 4e4, 1.2e5])
CORNER_REACH_PX = 6
CORNER_TURN_RAD = np.radians(50.0)
THINNING_MM = 0.015


@dataclass(frozen=True, slots=True, eq=False)
class SoftEdges:
    """Colours of the pixels on a scale that mixes linearly, and the unmixed ones.

    Parameters
    ----------
    codes : (h, w, c) float32
    paint : (h, w) int32
        Which colour each pixel belongs to.
    colors : (k, c) float32
    """

    codes: NDArray[np.float32]
    paint: NDArray[np.int32]
    colors: NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class _Arc:
    """Points between two junctions, in pixels, y up, with the labels on either side.

    ``points`` lie where the colours put the edge, ``plain`` on the middles of pixel sides.
    """

    points: NDArray[np.float64]
    plain: NDArray[np.float64]
    left: int
    right: int
    is_closed: bool


def outline_labels(
    labels: NDArray[np.int32], soft: SoftEdges, *, mm_per_px: float, smooth_mm: float
) -> tuple[Partition, int]:
    """Return the faces of a label map.

    Parameters
    ----------
    labels : (h, w) int32
        Palette index or BARE; what lies beyond the frame is bare.
    soft : SoftEdges
        The colours from which edges are placed between pixels.
    mm_per_px : float [mm]
    smooth_mm : float [mm]
        How far smoothing may move an edge beyond what the pixels leave open.

    Returns
    -------
    partition : Partition
        In mm, y up, origin at the map's lower left corner; bare faces are those enclosed by art.
    n_nodes : int
        Points that the edges are drawn through.
    """
    arcs = _arcs(join_diagonals(labels), soft)
    limit_px = LEAST_LIMIT_PX + smooth_mm / mm_per_px
    choices = [
        [_drawn(arc, limit_px, THINNING_MM / mm_per_px) for arc in arcs],
        [_drawn(arc, LEAST_LIMIT_PX, 0.02) for arc in arcs],
        [_closed(arc.plain, arc) for arc in arcs],
    ]
    lines = _untangle(choices)
    faces, face_labels = _faces(arcs, lines)
    scale = np.array([mm_per_px, mm_per_px])
    n_nodes = int(shapely.get_num_points(lines).sum()) - len(lines)
    return Partition(shapely.transform(faces, lambda xy: xy * scale), face_labels), n_nodes


def _arcs(labels: NDArray[np.int32], soft: SoftEdges) -> list[_Arc]:
    """All edges as evenly spaced points: junctions at the ends, edge crossings between."""
    corners, starts, sides = trace_cracks(labels, BARE)
    exact = crack_middles(corners, soft.codes, soft.paint, soft.colors)
    plain = np.zeros_like(exact)
    plain[:-1] = (corners[1:] + corners[:-1]) / 2.0
    # Flipping y exchanges nothing: left stays left for someone walking along the arc.
    for points in (exact, plain):
        points[:, 1] = labels.shape[0] - points[:, 1]
    nodes = _nodes(corners, starts, plain)
    arcs = []
    for i in range(len(starts) - 1):
        first, last = int(starts[i]), int(starts[i + 1]) - 1
        is_closed = _is_loop(corners, starts, i)
        ends = [nodes[tuple(corners[k].tolist())][None] for k in (first, last)]
        runs = [
            run[first:last] if is_closed else np.vstack([ends[0], run[first:last], ends[1]])
            for run in (exact, plain)
        ]
        arcs.append(_Arc(runs[0], runs[1], int(sides[i, 0]), int(sides[i, 1]), is_closed))
    return arcs


def _nodes(
    corners: NDArray[np.int32], starts: NDArray[np.int64], plain: NDArray[np.float64]
) -> dict[tuple[int, ...], NDArray[np.float64]]:
    """Where arcs meet: the mean of the arcs' first points, so that straight edges run through."""
    meeting: dict[tuple[int, ...], list[NDArray[np.float64]]] = {}
    for i in range(len(starts) - 1):
        first, last = int(starts[i]), int(starts[i + 1]) - 1
        meeting.setdefault(tuple(corners[first].tolist()), []).append(plain[first])
        meeting.setdefault(tuple(corners[last].tolist()), []).append(plain[last - 1])
    return {corner: np.mean(points, axis=0) for corner, points in meeting.items()}


def _is_loop(corners: NDArray[np.int32], starts: NDArray[np.int64], i: int) -> bool:
    """Return True when a closed arc touches no other arc where it begins."""
    first, last = corners[starts[i]], corners[starts[i + 1] - 1]
    if (first != last).any():
        return False
    here = (corners[starts[:-1]] == first).all(axis=1)
    return int(here.sum()) == 1


def _closed(points: NDArray[np.float64], arc: _Arc) -> NDArray[np.float64]:
    return np.vstack([points, points[:1]]) if arc.is_closed else points


def _drawn(arc: _Arc, limit_px: float, thinning_px: float) -> NDArray[np.float64]:
    """Return the arc split at its corners, smoothed piece by piece, and thinned."""
    light = smooth_arc(arc.points, np.array([1.0]), is_closed=arc.is_closed)[0]
    corners = find_corners(
        light, reach=CORNER_REACH_PX, least_turn_rad=float(CORNER_TURN_RAD), is_closed=arc.is_closed
    )
    if arc.is_closed and not len(corners):
        loop = smooth_within(arc.points, STRENGTHS, limit=limit_px, is_closed=True)
        return _thin(np.vstack([loop, loop[:1]]), thinning_px)
    points = sharpen_corners(
        arc.points, corners, reach=CORNER_REACH_PX, furthest=1.5, is_closed=arc.is_closed
    )
    if arc.is_closed:
        points = np.roll(points, -corners[0], axis=0)
        points = np.vstack([points, points[:1]])
        corners = corners - corners[0]
    cuts = np.unique(np.concatenate([[0], corners, [len(points) - 1]]))
    pieces = [
        _thin(
            smooth_within(points[a : b + 1], STRENGTHS, limit=limit_px, is_closed=False),
            thinning_px,
        )
        for a, b in pairwise(cuts)
    ]
    return np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _thin(points: NDArray[np.float64], tolerance: float) -> NDArray[np.float64]:
    """Drop points that lie within the tolerance of the line without them; ends stay."""
    thinned = shapely.simplify(shapely.linestrings(points), tolerance, preserve_topology=False)
    xy: NDArray[np.float64] = shapely.get_coordinates(thinned)
    is_loop = bool((points[0] == points[-1]).all())
    if is_loop and len(xy) < 5:
        return points
    return xy


def _untangle(choices: list[list[NDArray[np.float64]]]) -> NDArray[np.object_]:
    """Pick for each arc the smoothest choice that crosses no other arc."""
    level = np.zeros(len(choices[0]), dtype=np.int64)
    table = np.empty((len(choices), len(choices[0])), dtype=object)
    for row, choice in enumerate(choices):
        table[row] = [shapely.linestrings(points) for points in choice]
    lines: NDArray[np.object_] = table[0].copy()
    for _ in range(12):
        bad = _crossing(lines)
        bad &= level < len(choices) - 1
        if not bad.any():
            break
        level[bad] += 1
        lines = table[level, np.arange(len(level))]
    return lines


def _crossing(lines: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Which lines cross themselves or meet another anywhere but at a common end."""
    bad: NDArray[np.bool_] = ~shapely.is_simple(lines)
    tree = shapely.STRtree(lines)
    left, right = tree.query(lines, predicate="intersects")
    keep = left < right
    left, right = left[keep], right[keep]
    inner = shapely.relate_pattern(lines[left], lines[right], "T********")
    inner |= shapely.relate_pattern(lines[left], lines[right], "*T*******")
    inner |= shapely.relate_pattern(lines[left], lines[right], "***T*****")
    bad[left[inner]] = True
    bad[right[inner]] = True
    return bad


def _faces(
    arcs: list[_Arc], lines: NDArray[np.object_]
) -> tuple[NDArray[np.object_], NDArray[np.int64]]:
    """Close the lines to faces and read each face's label off the arc along its rim."""
    side: dict[tuple[float, float, float, float], int] = {}
    for arc, line in zip(arcs, lines, strict=True):
        xy = shapely.get_coordinates(line)
        for p, q in zip(xy[:-1].tolist(), xy[1:].tolist(), strict=True):
            side[p[0], p[1], q[0], q[1]] = arc.left
            side[q[0], q[1], p[0], p[1]] = arc.right
    faces = shapely.get_parts(shapely.polygonize(lines))
    faces = shapely.orient_polygons(faces)
    labels = np.empty(len(faces), dtype=np.int64)
    for i, face in enumerate(faces):
        (ax, ay), (bx, by) = shapely.get_coordinates(face.exterior)[:2]
        labels[i] = side[ax, ay, bx, by]
    return faces, labels
