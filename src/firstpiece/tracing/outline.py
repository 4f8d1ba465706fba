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

from firstpiece.geometry.edge_fit import fit_edge
from firstpiece.geometry.partition import Partition
from firstpiece.geometry.smoothing import (
    across_moves,
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
SIDE_REACH_PX = 9
CORNER_TURN_RAD = np.radians(50.0)
FIT_PX = 0.4
FIT_SHARE, DRIFT_SHARE = 1.0, 1.5
THINNING_PX = 0.1
MOVED_EVERY = 4
LEAST_WOBBLY_PX = 60
WOBBLE_STRENGTH = 4e4
WOBBLE_PERCENT = 35.0
PIXEL_WOBBLE_PX = 0.15
FLATNESS_MM, FLATNESS_PX = 0.006, 0.05


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


@dataclass(frozen=True, slots=True, eq=False)
class Outlined:
    """A label map's areas, drawn.

    Parameters
    ----------
    partition : Partition
        In mm, y up, origin at the map's lower left corner; bare faces are those enclosed by art.
    n_nodes : int
        Points that the edges are drawn through, each edge once.
    moved_mm : float [mm]
        How far edges lie from where the picture's colours put them (95 % point).
    """

    partition: Partition
    n_nodes: int
    moved_mm: float


@dataclass(frozen=True, slots=True)
class _Hand:
    """How freely an edge is drawn, in pixels.

    Points may move by ``limit_px``, stretches of edge by ``drift_px`` beyond stillness; figures may
    stray from the smoothed points by ``fit_px`` and their straight pieces by ``flat_px``.
    """

    limit_px: float
    drift_px: float
    fit_px: float
    flat_px: float


def outline_labels(
    labels: NDArray[np.int32], soft: SoftEdges, *, mm_per_px: float, smooth_mm: float
) -> Outlined:
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
    Outlined
    """
    arcs = _arcs(join_diagonals(labels), soft)
    pieces = [_pieces(arc) for arc in arcs]
    wobble = min(_wobble_px(pieces), smooth_mm / mm_per_px)
    flat_px = min(FLATNESS_MM / mm_per_px, FLATNESS_PX)
    strong = _Hand(
        limit_px=LEAST_LIMIT_PX + smooth_mm / mm_per_px,
        drift_px=DRIFT_SHARE * wobble,
        fit_px=FIT_PX + FIT_SHARE * wobble,
        flat_px=flat_px,
    )
    light = _Hand(limit_px=LEAST_LIMIT_PX, drift_px=0.0, fit_px=FIT_PX / 3.0, flat_px=flat_px)
    choices = [
        [_drawn(arc, own, hand) for arc, own in zip(arcs, pieces, strict=True)]
        for hand in (strong, light)
    ]
    choices += [[_thinned(arc) for arc in arcs], [_as_is(arc) for arc in arcs]]
    drawn, lines = _untangle(choices)
    faces, face_labels = _faces(arcs, lines)
    scale = np.array([mm_per_px, mm_per_px])
    n_nodes = _count_nodes(arcs, drawn)
    partition = Partition(shapely.transform(faces, lambda xy: xy * scale), face_labels)
    return Outlined(partition, n_nodes, _moved(arcs, lines) * mm_per_px)


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


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """An arc as drawn: (m, 4, 2) cubics end to end, and its points as straight pieces."""

    cubics: NDArray[np.float64]
    points: NDArray[np.float64]


def _as_is(arc: _Arc) -> _Drawn:
    """Return the arc along the middles of pixel sides."""
    points = np.vstack([arc.plain, arc.plain[:1]]) if arc.is_closed else arc.plain
    return _Drawn(np.repeat(points[:-1, None], 4, axis=1), points)


def _thinned(arc: _Arc) -> _Drawn:
    """Return the arc hardly smoothed, without the points that are not missed."""
    points = smooth_arc(arc.points, STRENGTHS[:1], is_closed=arc.is_closed)[0]
    if arc.is_closed:
        points = np.vstack([points, points[:1]])
    line = shapely.simplify(shapely.linestrings(points), THINNING_PX, preserve_topology=False)
    xy: NDArray[np.float64] = shapely.get_coordinates(line)
    if arc.is_closed and len(xy) < 5:
        return _as_is(arc)
    return _Drawn(np.repeat(xy[:-1, None], 4, axis=1), xy)


def _moved(arcs: list[_Arc], lines: NDArray[np.object_]) -> float:
    """Return how far edges lie from where the colours put them: the 95 % point, in pixels."""
    far = [
        shapely.distance(line, shapely.points(arc.points[::MOVED_EVERY]))
        for arc, line in zip(arcs, lines, strict=True)
    ]
    return float(np.percentile(np.concatenate(far), 95)) if far else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """Points between two corners of an arc, or a whole loop without corners (not repeated)."""

    points: NDArray[np.float64]
    is_loop: bool


def _pieces(arc: _Arc) -> list[_Piece]:
    """Return the arc split at its corners, each corner moved to where its sides meet."""
    light = smooth_arc(arc.points, np.array([1.0]), is_closed=arc.is_closed)[0]
    corners = find_corners(
        light, reach=CORNER_REACH_PX, least_turn_rad=float(CORNER_TURN_RAD), is_closed=arc.is_closed
    )
    if arc.is_closed and not len(corners):
        return [_Piece(arc.points, is_loop=True)]
    points = sharpen_corners(
        arc.points, corners, reach=SIDE_REACH_PX, furthest=3.0, is_closed=arc.is_closed
    )
    if arc.is_closed:
        points = np.roll(points, -corners[0], axis=0)
        points = np.vstack([points, points[:1]])
        corners = corners - corners[0]
    cuts = np.unique(np.concatenate([[0], corners, [len(points) - 1]]))
    return [_Piece(points[a : b + 1], is_loop=False) for a, b in pairwise(cuts)]


def _wobble_px(pieces: list[list[_Piece]]) -> float:
    """Return how far edges wobble: what strong smoothing would move most of their length by.

    Real corners and tight bends move far but are short; so the lower part of all moves counts, less
    what pixels alone cause.
    """
    moves = [np.zeros(1)]
    for piece in (p for arc in pieces for p in arc if len(p.points) >= LEAST_WOBBLY_PX):
        smooth = smooth_arc(piece.points, np.array([WOBBLE_STRENGTH]), is_closed=piece.is_loop)
        step = piece.points - smooth
        moves.append(np.abs(across_moves(piece.points, step, is_closed=piece.is_loop)[0]))
    low = float(np.percentile(np.concatenate(moves), WOBBLE_PERCENT))
    return max(low - PIXEL_WOBBLE_PX, 0.0)


def _drawn(arc: _Arc, pieces: list[_Piece], hand: _Hand) -> _Drawn:
    """Return the arc with each piece smoothed and drawn by a simple figure."""
    edges = []
    for piece in pieces:
        points = smooth_within(
            piece.points,
            STRENGTHS,
            limit=hand.limit_px,
            is_closed=piece.is_loop,
            wobble=hand.drift_px,
        )
        if piece.is_loop:
            points = np.vstack([points, points[:1]])
        edges.append(
            fit_edge(points, tolerance=hand.fit_px, is_loop=piece.is_loop, flatness=hand.flat_px)
        )
    xy = np.vstack([edges[0].points, *(edge.points[1:] for edge in edges[1:])])
    if arc.is_closed and len(xy) < 4:
        return _as_is(arc)
    return _Drawn(np.concatenate([edge.cubics for edge in edges]), xy)


def _count_nodes(arcs: list[_Arc], drawn: list[_Drawn]) -> int:
    """Points that the curves run through, each junction of arcs once."""
    inner = sum(len(d.cubics) - (not arc.is_closed) for arc, d in zip(arcs, drawn, strict=True))
    ends = {
        tuple(d.points[k].tolist())
        for arc, d in zip(arcs, drawn, strict=True)
        if not arc.is_closed
        for k in (0, -1)
    }
    return inner + len(ends)


def _untangle(choices: list[list[_Drawn]]) -> tuple[list[_Drawn], NDArray[np.object_]]:
    """Pick for each arc the smoothest choice that crosses no other arc."""
    level = np.zeros(len(choices[0]), dtype=np.int64)
    table = np.empty((len(choices), len(choices[0])), dtype=object)
    for row, choice in enumerate(choices):
        table[row] = [shapely.linestrings(one.points) for one in choice]
    lines: NDArray[np.object_] = table[0].copy()
    for _ in range(12):
        bad = _crossing(lines)
        bad &= level < len(choices) - 1
        if not bad.any():
            break
        level[bad] += 1
        lines = table[level, np.arange(len(level))]
    return [choices[row][i] for i, row in enumerate(level.tolist())], lines


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
