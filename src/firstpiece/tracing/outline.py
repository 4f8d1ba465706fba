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
from firstpiece.geometry.smoothing import find_corners, smooth_arc, smooth_within
from firstpiece.kernels.crack_edges import join_diagonals, trace_cracks
from firstpiece.model.region import BARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

STRENGTHS = np.array([4.0, 12.0, 40.0, 120.0, 400.0, 1200.0, 4e3, 1.2e4, 4e4, 1.2e5])
CORNER_REACH_PX = 6
CORNER_TURN_RAD = np.radians(50.0)
THINNING_MM = 0.015


@dataclass(frozen=True, slots=True, eq=False)
class _Arc:
    """Points between two junctions, in pixels, with the labels on either side (y up)."""

    points: NDArray[np.float64]
    left: int
    right: int
    is_closed: bool


def outline_labels(labels: NDArray[np.int32], *, mm_per_px: float, smooth_mm: float) -> Partition:
    """Return the faces of a label map.

    Parameters
    ----------
    labels : (h, w) int32
        Palette index or BARE; what lies beyond the frame is bare.
    mm_per_px : float [mm]
    smooth_mm : float [mm]
        How far smoothing may move an edge beyond what the pixels leave open.

    Returns
    -------
    Partition
        In mm, y up, origin at the map's lower left corner; bare faces are those enclosed by art.
    """
    arcs = _arcs(join_diagonals(labels))
    limit_px = 0.6 + smooth_mm / mm_per_px
    choices = [
        [_drawn(arc, limit_px, THINNING_MM / mm_per_px) for arc in arcs],
        [_drawn(arc, 0.6, 0.02) for arc in arcs],
        [_closed(arc.points, arc.is_closed) for arc in arcs],
    ]
    lines = _untangle(choices)
    faces, face_labels = _faces(arcs, lines)
    scale = np.array([mm_per_px, mm_per_px])
    return Partition(shapely.transform(faces, lambda xy: xy * scale), face_labels)


def _arcs(labels: NDArray[np.int32]) -> list[_Arc]:
    """All edges as evenly spaced points: junctions at the ends, middles of pixel sides between."""
    corners, starts, sides = trace_cracks(labels, BARE)
    height = labels.shape[0]
    xy = corners.astype(np.float64)
    xy[:, 1] = height - xy[:, 1]
    arcs = []
    for i in range(len(starts) - 1):
        run = xy[starts[i] : starts[i + 1]]
        middles = (run[1:] + run[:-1]) / 2.0
        is_closed = bool((run[0] == run[-1]).all()) and _is_loop(corners, starts, i)
        points = middles if is_closed else np.vstack([run[:1], middles, run[-1:]])
        # Flipping y exchanges nothing: left stays left for someone walking along the arc.
        arcs.append(_Arc(points, int(sides[i, 0]), int(sides[i, 1]), is_closed))
    return arcs


def _is_loop(corners: NDArray[np.int32], starts: NDArray[np.int64], i: int) -> bool:
    """Return True when a closed arc touches no other arc where it begins."""
    firsts = corners[starts[:-1]]
    here = (firsts == corners[starts[i]]).all(axis=1)
    return int(here.sum()) == 1


def _closed(points: NDArray[np.float64], is_closed: bool) -> NDArray[np.float64]:  # noqa: FBT001
    return np.vstack([points, points[:1]]) if is_closed else points


def _drawn(arc: _Arc, limit_px: float, thinning_px: float) -> NDArray[np.float64]:
    """Return the arc split at its corners, smoothed piece by piece, and thinned."""
    light = smooth_arc(arc.points, np.array([1.5]), is_closed=arc.is_closed)[0]
    corners = find_corners(
        light, reach=CORNER_REACH_PX, least_turn_rad=float(CORNER_TURN_RAD), is_closed=arc.is_closed
    )
    if arc.is_closed and not len(corners):
        loop = smooth_within(arc.points, STRENGTHS, limit=limit_px, is_closed=True)
        return _thin(np.vstack([loop, loop[:1]]), thinning_px)
    points = arc.points.copy()
    points[corners] = light[corners]
    if arc.is_closed:
        points = np.roll(points, -corners[0], axis=0)
        points = np.vstack([points, points[:1]])
        corners = corners - corners[0]
    cuts = np.unique(np.concatenate([[0], corners, [len(points) - 1]]))
    pieces = [
        _thin(smooth_within(points[a : b + 1], STRENGTHS, limit=limit_px, is_closed=False),
              thinning_px)
        for a, b in pairwise(cuts)
    ]  # fmt: skip
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
