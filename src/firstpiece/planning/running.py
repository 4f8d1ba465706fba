"""Running stitch for hair-thin areas: out along the medial axis and back, no jump at any branch.

The way out keeps to one side of the axis and the way back to the other, far enough apart that both
threads together cover the line. Other kinds of line run each stretch of the axis once. Input: the
axis of an area. Output: one ``Path`` a connected axis, or a stretch.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import drop_near_points, offset_sideways, run_along
from firstpiece.model.stitch import Motif, Role, RunKind
from firstpiece.planning.line_kinds import sew_line
from firstpiece.planning.path import Path, make_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.medial_axis import AxisBranch, MedialAxis

    Floats = NDArray[np.float64]

SHORTEST_MM = 0.4
SAG_MM = 0.08


@dataclass(frozen=True, slots=True)
class LineSettings:
    """How a line is run: its kind, stitch length [mm], the thread's laid width [mm], its motif."""

    kind: RunKind
    step_mm: float
    thread_mm: float
    motif: Motif = Motif.SCALLOP


def run_axis(axis: MedialAxis, settings: LineSettings, entry_mm: Floats) -> list[Path]:
    """Return the runs over an axis, the nearest end next.

    Parameters
    ----------
    axis : MedialAxis
    settings : LineSettings
    entry_mm : (2,) float64 [mm]
        Where the needle comes from.
    """
    if settings.kind is RunKind.DOUBLE or axis.length_mm < settings.thread_mm:
        return run_lines(
            axis, thread_mm=settings.thread_mm, step_mm=settings.step_mm, entry_mm=entry_mm
        )
    left = [np.asarray(line) for line in _stretches(axis)]
    paths: list[Path] = []
    here = entry_mm
    while left:
        gaps = np.array([[np.hypot(*(line[e] - here)) for e in (0, -1)] for line in left])
        k, end = divmod(int(np.argmin(gaps)), 2)
        line = left.pop(k)
        xy = sew_line(
            line[::-1] if end else line,
            settings.kind, step_mm=settings.step_mm, motif=settings.motif,
        )  # fmt: skip
        paths.append(make_path(xy, Role.COVER))
        here = xy[-1]
    return paths


def _stretches(axis: MedialAxis) -> list[Floats]:
    """Return the axis as few lines: at each junction a line goes on where it turns least."""
    ends: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for k, branch in enumerate(axis.branches):
        if not branch.is_closed and branch.start_node != branch.end_node:
            ends[branch.start_node].append((k, 0))
            ends[branch.end_node].append((k, 1))
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for meeting in (ends[node] for node in sorted(ends)):
        pairs = sorted((_turn_at(axis, a, b), a, b) for a, b in itertools.combinations(meeting, 2))
        for _, a, b in pairs:
            if a not in partner and b not in partner:
                partner[a], partner[b] = b, a
    done: set[int] = set()
    arms = [arm for node in sorted(ends) for arm in ends[node]]
    order = [a for a in arms if a not in partner] + arms
    lines = [_follow(axis, first, partner, done) for first in order if first[0] not in done]
    rings = [b.points_mm for b in axis.branches if b.is_closed or b.start_node == b.end_node]
    return lines + rings


def _follow(
    axis: MedialAxis,
    first: tuple[int, int],
    partner: dict[tuple[int, int], tuple[int, int]],
    done: set[int],
) -> Floats:
    """Return the line that begins at one end of a branch and goes on through its partners."""
    parts = []
    arm: tuple[int, int] | None = first
    while arm is not None and arm[0] not in done:
        done.add(arm[0])
        xy = axis.branches[arm[0]].points_mm
        parts.append(xy if arm[1] == 0 else xy[::-1])
        arm = partner.get((arm[0], 1 - arm[1]))
    return np.vstack([parts[0], *(p[1:] for p in parts[1:])])


def _turn_at(axis: MedialAxis, a: tuple[int, int], b: tuple[int, int]) -> float:
    """Return how far the way in by one branch end and out by another is from straight [rad]."""
    ways = []
    for k, end in (a, b):
        xy = axis.branches[k].points_mm if end == 0 else axis.branches[k].points_mm[::-1]
        step = xy[min(len(xy) - 1, 6)] - xy[0]
        ways.append(step / max(float(np.hypot(*step)), 1e-9))
    return float(np.pi - np.arccos(np.clip(ways[0] @ ways[1], -1.0, 1.0)))


def run_lines(
    axis: MedialAxis, *, thread_mm: float, step_mm: float, entry_mm: Floats
) -> list[Path]:
    """Return the double run over an axis, beginning at the node nearest the entry.

    Parameters
    ----------
    axis : MedialAxis
    thread_mm : float [mm]
        Laid width of the thread.
    step_mm : float [mm]
        Stitch length.
    entry_mm : (2,) float64 [mm]
        Where the needle comes from.
    """
    if axis.length_mm < thread_mm:
        return [_dot(axis, thread_mm)]
    at_node = defaultdict(list)
    for k, branch in enumerate(axis.branches):
        at_node[branch.start_node].append(k)
        if branch.end_node != branch.start_node:
            at_node[branch.end_node].append(k)
    left = set(range(len(axis.branches)))
    paths = []
    here = entry_mm
    while left:
        nodes = sorted({n for k in left for n in _ends(axis.branches[k])})
        gaps = np.hypot(*(axis.nodes_mm[nodes] - here).T)
        line = _double_run(axis, nodes[int(np.argmin(gaps))], at_node, left, thread_mm)
        xy = run_along(line, step_mm, sag_mm=SAG_MM)
        paths.append(make_path(drop_near_points(xy, SHORTEST_MM), Role.COVER))
        here = xy[-1]
    return paths


def _ends(branch: AxisBranch) -> tuple[int, int]:
    return branch.start_node, branch.end_node


def _double_run(
    axis: MedialAxis, root: int, at_node: dict[int, list[int]], left: set[int], thread_mm: float
) -> Floats:
    """Walk every branch twice, depth first; ``left`` loses the branches walked."""
    lines = []
    todo: list[tuple[int, int, bool]] = []  # branch, node it is left from, is it the way back

    def push(node: int) -> None:
        todo.extend((k, node, False) for k in reversed(at_node[node]) if k in left)

    push(root)
    while todo:
        k, node, back = todo.pop()
        branch = axis.branches[k]
        if back:
            lines.append(_side_line(axis, branch, node, thread_mm))
            continue
        if k not in left:
            continue
        left.discard(k)
        lines.append(_side_line(axis, branch, node, thread_mm))
        other = branch.end_node if node == branch.start_node else branch.start_node
        if branch.is_closed or other == node:
            lines.append(_side_line(axis, branch, node, thread_mm)[::-1])
            continue
        todo.append((k, other, True))
        push(other)
    return np.vstack(lines)


def _side_line(axis: MedialAxis, branch: AxisBranch, node: int, thread_mm: float) -> Floats:
    """Return a branch from ``node`` on, moved right so that the thread's edge meets the outline."""
    forward = node == branch.start_node
    xy = branch.points_mm if forward else branch.points_mm[::-1]
    radii = branch.radii_mm if forward else branch.radii_mm[::-1]
    if len(xy) < 2:
        return xy
    xy = offset_sideways(xy, np.clip(radii - thread_mm / 2, 0.0, thread_mm / 2))
    return _reach_ends(axis, branch, xy, forward=forward, thread_mm=thread_mm)


def _reach_ends(
    axis: MedialAxis, branch: AxisBranch, xy: Floats, *, forward: bool, thread_mm: float
) -> Floats:
    """Lengthen a line at free ends, where the axis stops a radius short of the outline."""
    nodes = _ends(branch) if forward else _ends(branch)[::-1]
    degree = np.bincount(axis.edges.ravel(), minlength=len(axis.nodes_mm))
    pieces = [xy]
    for end, inner, node, side in ((0, 1, nodes[0], 0), (-1, -2, nodes[1], 1)):
        if branch.is_closed or degree[node] > 1:
            continue
        step = xy[end] - xy[inner]
        reach = max(0.0, float(axis.radii_mm[node]) - thread_mm / 4)
        tip = xy[end] + step / max(float(np.hypot(*step)), 1e-9) * reach
        pieces.insert(len(pieces) * side, tip[None])
    return np.vstack(pieces)


def _dot(axis: MedialAxis, thread_mm: float) -> Path:
    """Return a few short stitches for a dot no wider than a thread or two."""
    middle, r = axis.nodes_mm[0], max(float(axis.radii_mm[0]), thread_mm)
    xy = middle + np.array(
        [[-r, 0.0], [r, 0.0], [-r * 0.6, thread_mm / 2], [r * 0.6, thread_mm / 2]]
    )
    return make_path(xy, Role.COVER)
