"""Carrying the rails of a strip on to its true ends.

A strip's last chord lies about half a width before a free end. In: a strip. Out: a ladder whose
rails run to a flat end edge, or meet at the tip that lies farthest ahead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.ladder import (
    between_rails,
    cut_even,
    fan_start,
    rung_widths,
    turned_round,
    without_repeats,
)
from firstpiece.geometry.strips import EndKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.strips import Strip, StripEnd

# An end edge within this of square is sewn parallel to it; a steeper one by shortening stitches.
_FLAT_RAD = np.radians(32.0)
_MITRE_FLAT_RAD = np.radians(20.0)
# A free end shorter than this share of its width is rebuilt, longer ones are true tapers.
_CAP_SHARE = 0.9


def extended_ladder(strip: Strip, *, overlap_mm: float) -> NDArray[np.float64]:
    """Return the ladder of an open strip carried on to both ends, (k, 2, 2) float64 [mm].

    Parameters
    ----------
    strip : Strip
        A closed one is returned as it is.
    overlap_mm : float [mm]
        How far a butted end runs on under the strip that it meets.
    """
    if strip.is_closed:
        return strip.ladder_mm
    ladder = _extend(strip.ladder_mm, strip.end, overlap_mm)
    ladder = turned_round(_extend(turned_round(ladder), strip.start, overlap_mm))
    return without_repeats(ladder)


def blob_ladder(polygon: shapely.Polygon) -> NDArray[np.float64]:
    """Return one ladder across a shape without an axis, such as a dot, along its longer side.

    Parameters
    ----------
    polygon : shapely.Polygon
        Its holes are ignored.

    Returns
    -------
    (k, 2, 2) float64 [mm]
    """
    ring = shapely.get_coordinates(shapely.orient_polygons(polygon).exterior)[:-1]
    way = _long_direction(polygon)
    along = ring @ way
    first, last = int(np.argmin(along)), int(np.argmax(along))
    n = len(ring)
    right = ring[(first + np.arange((last - first) % n + 1)) % n]
    left = ring[(last + np.arange((first - last) % n + 1)) % n][::-1]
    # Rungs square to the long direction: both rails are read at the same places along it.
    places = [np.maximum.accumulate(rail @ way) for rail in (left, right)]
    at = np.unique(np.concatenate(places))
    rails = []
    for rail, place in zip((left, right), places, strict=True):
        rails.append(np.stack([np.interp(at, place, rail[:, axis]) for axis in (0, 1)], axis=1))
    return np.stack(rails, axis=1)


def _long_direction(polygon: shapely.Polygon) -> NDArray[np.float64]:
    """Return the unit vector along the smallest box; upwards where it is nearly square."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))
    if len(box) < 4:
        return np.array([0.0, 1.0])
    sides = np.diff(box[:3], axis=0)
    length = np.hypot(sides[:, 0], sides[:, 1])
    if length.max() < 1.15 * length.min():
        return np.array([0.0, 1.0])
    way = sides[int(np.argmax(length))] / length.max()
    return np.asarray(way if way[1] >= 0 else -way)


def _extend(ladder: NDArray[np.float64], end: StripEnd, overlap_mm: float) -> NDArray[np.float64]:
    """Return the ladder with its last part rebuilt as far as the border of its end."""
    head, left, right = cut_even(ladder, _truncation(ladder, end.kind))
    ahead = _forward(head[-1])
    border = end.border_mm
    if end.kind is EndKind.BUTT:
        border = np.concatenate([border[:1], border + overlap_mm * ahead, border[-1:]])
    around = np.concatenate([left, end.left_tail_mm, border, end.right_tail_mm[::-1], right[::-1]])
    flat = _MITRE_FLAT_RAD if end.kind is EndKind.MITRE else _FLAT_RAD
    i, j = _end_edge(around, ahead, flat, float(rung_widths(head[-1:])[0]))
    tail = between_rails(around[: i + 1], around[j:][::-1])
    return np.concatenate([head[:-1], tail])


def _forward(rung: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the unit vector ahead, a quarter turn anticlockwise from left-to-right."""
    across = rung[1] - rung[0]
    size = float(np.hypot(*across))
    if size < 1e-9:
        return np.array([0.0, 0.0])
    return np.array([-across[1], across[0]]) / size


def _truncation(ladder: NDArray[np.float64], kind: EndKind) -> int:
    """Return the rung from which an end is rebuilt."""
    width = rung_widths(ladder)
    middle = ladder.mean(axis=1)
    step = np.hypot(*np.diff(middle, axis=0).T)
    to_go = np.concatenate([np.cumsum(step[::-1])[::-1], [0.0]])
    if kind is EndKind.CAP:
        far = np.flatnonzero(to_go + 0.5 * width[-1] > _CAP_SHARE * width)
        return min(int(far[-1]) + 1 if len(far) else 0, len(ladder) - 1)
    return fan_start(ladder, least_turn_rad=_MITRE_FLAT_RAD)


def _end_edge(
    around: NDArray[np.float64], ahead: NDArray[np.float64], flat_rad: float, width: float
) -> tuple[int, int]:
    """Return the two border points where the rails stop; the same one twice for a tip."""
    tip = int(np.argmax(around @ ahead))
    line = shapely.LineString(around) if len(around) > 1 else None
    if line is None or width < 1e-9:
        return tip, tip
    simple = shapely.get_coordinates(line.simplify(0.04 * width, preserve_topology=False))
    edge = np.diff(simple, axis=0)
    length = np.hypot(edge[:, 0], edge[:, 1])
    across = np.array([ahead[1], -ahead[0]])
    square = (edge @ across) >= np.cos(flat_rad) * length
    # Only edges near the far end count: a step in a rail is not the end.
    far = 0.5 * (simple[:-1] + simple[1:]) @ ahead > float((around @ ahead).max()) - 0.4 * width
    score = np.where(square & far, length, 0.0)
    if not len(score) or score.max() < 0.3 * width:
        return tip, tip
    best = int(np.argmax(score))
    ends = [int(np.argmin(np.hypot(*(around - simple[k]).T))) for k in (best, best + 1)]
    return ends[0], max(ends)
