"""Penetrations of one satin column from the ladder it fills.

Zigzag stations keep the column spacing on the faster rail; inside tight curves some stitches are
shortened so that holes do not crowd; very long stitches are split. In: a smoothed ladder. Out:
points in sewing order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.ladder import rung_widths

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Common practice, no source: holes closer than this cut the cloth, steps shorter than this jam.
CLOSEST_HOLES_MM = 0.18
SHORTEST_STEP_MM = 0.32
# Narrower than this a zigzag cannot be sewn; the column goes on as a run along its middle.
_NARROWEST_MM = 0.3
# Drawing holes in for the thread's turn leaves at least this much to sew across.
_NARROWEST_DRAWN_MM = 0.42
_RUN_STEP_MM = 1.2
# Thread has width: the last hole lies this far inside a tip.
_TIP_INSET_MM = 0.12
_SHORTENING_STEP_MM = 0.2
_MOST_SHORTENED = 0.6
_HOLES_LOOKED_BACK = 10
# A longer stitch hangs loose; common practice, no source.
_LONGEST_USABLE_MM = 8.0
# The edge of a column that narrows fast keeps at least this share of the spacing along itself.
_EDGE_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class ColumnSettings:
    """How a column is sewn; lengths in mm.

    ``spacing_mm`` is column spacing, same side to same side; ``pull_mm`` widens each side;
    ``longest_stitch_mm`` is where stitches are split.
    """

    spacing_mm: float
    pull_mm: float
    longest_stitch_mm: float


def zigzag(
    ladder: NDArray[np.float64], settings: ColumnSettings, *, is_closed: bool
) -> NDArray[np.float64]:
    """Return the penetrations of a column, (n, 2) float64 [mm].

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
        Smoothed; a closed one repeats its first rung.
    settings : ColumnSettings
    is_closed : bool
        True sews the first two stitches again at the end, so that the seam of a ring closes.
    """
    rungs = _stations(ladder, settings.spacing_mm, is_closed=is_closed)
    rungs = _widened(rungs, settings.pull_mm)
    if not is_closed:
        rungs = _without_tips(rungs)
    if is_closed:
        rungs = np.concatenate([rungs, rungs[1:3]])
    return _alternate(rungs)


def _stations(
    ladder: NDArray[np.float64], spacing_mm: float, *, is_closed: bool
) -> NDArray[np.float64]:
    """Return rungs at equal half spacings of the faster rail, first and last included."""
    step = np.diff(ladder, axis=0)
    across = ladder[:, 1] - ladder[:, 0]
    middle = 0.5 * (across[1:] + across[:-1])
    size = np.maximum(np.hypot(middle[:, 0], middle[:, 1]), 1e-9)
    # Thread covers the cloth square to the stitch, so that part of the movement counts.
    square = np.abs(step[..., 0] * middle[:, None, 1] - step[..., 1] * middle[:, None, 0])
    along = np.hypot(step[..., 0], step[..., 1])
    advance = np.maximum(square / size[:, None], _EDGE_SHARE * along).max(axis=1)
    place = np.concatenate([[0.0], np.cumsum(advance)])
    half = 0.5 * spacing_mm
    count = max(int(np.ceil(place[-1] / half - 1e-9)), 1)
    if is_closed:
        count += count % 2
    at = np.linspace(0.0, place[-1], count + 1)
    flat = ladder.reshape(len(ladder), 4)
    rungs = np.stack([np.interp(at, place, flat[:, c]) for c in range(4)], axis=1)
    return rungs.reshape(-1, 2, 2)


def _widened(rungs: NDArray[np.float64], pull_mm: float) -> NDArray[np.float64]:
    """Return the rungs made longer at both ends; those with no length take their neighbours'."""
    across = rungs[:, 1] - rungs[:, 0]
    size = np.hypot(across[:, 0], across[:, 1])
    solid = np.flatnonzero(size > 0.05)
    if not len(solid) or pull_mm == 0:
        return rungs
    # Too short to have a direction of its own: nearest solid rung's.
    nearest = solid[np.abs(np.arange(len(size))[:, None] - solid[None]).argmin(axis=1)]
    unit = across[nearest] / size[nearest][:, None]
    # A narrow column is drawn in no further than a stitch can still be sewn across it.
    spare = np.minimum(0.0, (_NARROWEST_DRAWN_MM - size) / 2)
    longer = np.maximum(pull_mm, spare) if pull_mm < 0 else np.full(len(size), pull_mm)
    ends: NDArray[np.float64] = rungs + longer[:, None, None] * np.stack([-unit, unit], axis=1)
    return ends


def _without_tips(rungs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the rungs with each tip too thin for a zigzag left to one last penetration."""
    solid = np.flatnonzero(rung_widths(rungs) >= _NARROWEST_MM)
    if not len(solid):
        return rungs
    first, last = int(solid[0]), int(solid[-1])
    start = _tip(rungs[: first + 1][::-1])
    end = _tip(rungs[last:])
    return np.concatenate([start[::-1], rungs[first : last + 1], end])


def _tip(outward: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the rungs beyond the last solid one: none, the tip alone, or a run to it."""
    middle = outward.mean(axis=1)
    place = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(middle, axis=0).T))])
    length = float(place[-1]) - _TIP_INSET_MM
    if length < SHORTEST_STEP_MM:
        return outward[:0]
    at = np.linspace(0.0, length, int(np.ceil(length / _RUN_STEP_MM)) + 1)[1:]
    points = np.stack([np.interp(at, place, middle[:, axis]) for axis in (0, 1)], axis=1)
    return np.repeat(points[:, None], 2, axis=1)


def _alternate(rungs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return one penetration per rung: left, right, left …, shortened where holes crowd."""
    width = rung_widths(rungs)
    thin = width < _NARROWEST_MM
    sides = np.arange(len(rungs)) % 2
    points = rungs[np.arange(len(rungs)), sides]
    points = np.where(thin[:, None], rungs.mean(axis=1), points)
    holes: tuple[list[NDArray[np.float64]], list[NDArray[np.float64]]] = ([], [])
    for i in range(len(rungs)):
        seen = holes[sides[i]][-_HOLES_LOOKED_BACK:]
        if not thin[i] and seen:
            points[i] = _clear_place(rungs[i], int(sides[i]), np.array(seen))
        holes[sides[i]].append(points[i])
    return _thin_to_run(points, thin)


def _clear_place(
    rung: NDArray[np.float64], side: int, seen: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the place nearest the rail that keeps clear of earlier holes on this side."""
    start, inward = rung[side], rung[1 - side] - rung[side]
    length = float(np.hypot(*inward))
    best, best_gap = start, -1.0
    for depth in np.arange(0.0, _MOST_SHORTENED * length, _SHORTENING_STEP_MM):
        place = start + depth / length * inward
        gap = float(np.hypot(*(seen - place).T).min())
        if gap >= CLOSEST_HOLES_MM:
            return np.asarray(place)
        if gap > best_gap:
            best, best_gap = place, gap
    return np.asarray(best)


def _thin_to_run(points: NDArray[np.float64], thin: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return the points with those of thin parts at running length, the ends of parts kept."""
    keep = np.ones(len(points), dtype=bool)
    last = None
    for i in range(len(points)):
        if not thin[i]:
            last = None
            continue
        is_edge = i == 0 or i == len(points) - 1 or not thin[i - 1]
        if last is not None and not is_edge:
            keep[i] = float(np.hypot(*(points[i] - points[last]))) >= _RUN_STEP_MM
        if keep[i]:
            last = i
    return points[keep]


def split_long(points: NDArray[np.float64], longest_mm: float) -> NDArray[np.float64]:
    """Return the points with long stitches divided, the divisions staggered over three.

    Parameters
    ----------
    points : (n, 2) float64 [mm]
    longest_mm : float [mm]
        Stitches over 8 mm are divided in any case.

    Returns
    -------
    (m, 2) float64 [mm]
    """
    longest_mm = min(longest_mm, _LONGEST_USABLE_MM)
    pieces = []
    for i in range(len(points) - 1):
        pieces.append(points[i : i + 1])
        step = points[i + 1] - points[i]
        length = float(np.hypot(*step))
        if length > longest_mm:
            count = int(np.ceil(length / (0.8 * longest_mm)))
            # Both directions of the zigzag must stagger alike, so odd stitches count backwards.
            shift = ((i // 2) % 3 - 1) * 0.22 * (1 if i % 2 == 0 else -1)
            share = (np.arange(1, count) + shift) / count
            pieces.append(points[i] + share[:, None] * step)
    return np.concatenate([*pieces, points[-1:]])


def without_short_steps(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the points without those that follow the one before too closely.

    Parameters
    ----------
    points : (n, 2) float64 [mm]

    Returns
    -------
    (m, 2) float64 [mm]
        The first and last stay, unless all lie within one short step.
    """
    kept = [points[0]]
    for point in points[1:-1]:
        if float(np.hypot(*(point - kept[-1]))) >= SHORTEST_STEP_MM:
            kept.append(point)
    while len(kept) > 1 and float(np.hypot(*(points[-1] - kept[-1]))) < SHORTEST_STEP_MM:
        kept.pop()
    if float(np.hypot(*(points[-1] - kept[-1]))) >= SHORTEST_STEP_MM:
        kept.append(points[-1])
    return np.array(kept)
