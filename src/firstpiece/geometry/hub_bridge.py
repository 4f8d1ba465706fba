"""Carrying a strip through a junction, and moving the mouths of side branches to their corners.

Where a wide branch meets a narrow strip, the largest circles leave the narrow strip long before
the branch's corners; a string pulled taut along the rail finds those corners. In: the ladders on
both sides of the junction and the outline between. Out: the rails over the junction, how much of
each ladder they replace, and where the branches now end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.ladder import (
    between_rails,
    cut_even,
    fan_start,
    rail_lengths,
    turned_round,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FAN_RAD = np.radians(8.0)
# How far from the junction corners are looked for, in its radii and as share of the branch.
_WINDOW_RADII = 1.6
_WINDOW_SHARE = 0.45
# Moving a mouth must save this share of the way moved: along a bulging rail a string always
# saves a little, and there the mouth is best left where it is.
_MOVE_COST = 0.1
# A string that saves less than this share of the radius changes nothing worth the trouble.
_LEAST_GAIN = 0.04


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One side of the way through a junction, as outline points.

    Parameters
    ----------
    before, after : (a, 2), (b, 2) float64 [mm]
        From the first ladder's last rung to the mouth, and on from the mouth. Without a mouth, or
        with several, all points are in ``before``.
    has_mouth : bool
        True when exactly one branch opens on this side.
    """

    before: NDArray[np.float64]
    after: NDArray[np.float64]
    has_mouth: bool


@dataclass(frozen=True, slots=True, eq=False)
class Mouth:
    """Where a side branch ends after its mouth was moved.

    ``before`` and ``after`` are (a, 2) and (b, 2) float64 [mm]: the outline from the old corner
    of the mouth to the new one, on the side of the first and of the second ladder.
    """

    before: NDArray[np.float64]
    after: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Bridge:
    """The way of a strip through a junction.

    Parameters
    ----------
    drop_first, drop_second : int
        Rungs that fall away at the junction's end of each ladder.
    rails_mm : tuple of two (n, 2) float64 [mm]
        Left and right, between the rungs that stay.
    mouths : tuple of two Mouth or None
        Left and right.
    """

    drop_first: int
    drop_second: int
    rails_mm: tuple[NDArray[np.float64], NDArray[np.float64]]
    mouths: tuple[Mouth | None, Mouth | None]


def build_bridge(
    first: NDArray[np.float64],
    second: NDArray[np.float64],
    sides: tuple[Side, Side],
    radius_mm: float,
) -> Bridge:
    """Return how a strip runs from one ladder through a junction into another.

    Parameters
    ----------
    first, second : (k, 2, 2), (m, 2, 2) float64 [mm]
        Ladders in the direction of the way: into the junction, and out of it.
    sides : tuple of Side
        Left and right.
    radius_mm : float [mm]
        Of the junction's circle.
    """
    reach = (_window(turned_round(first), radius_mm), _window(second, radius_mm))
    strings = [
        _pull_taut(first[len(first) - reach[0] :, s], second[: reach[1], s], side, radius_mm)
        if side.has_mouth
        else None
        for s, side in enumerate(sides)
    ]
    drop_first = max([0, *(s.drop_first for s in strings if s)])
    drop_second = max([0, *(s.drop_second for s in strings if s)])
    rails = []
    for s, (side, string) in enumerate(zip(sides, strings, strict=True)):
        head = first[len(first) - drop_first :, s]
        tail = second[:drop_second, s]
        if string is not None:
            head = head[: len(head) - string.drop_first]
            tail = tail[string.drop_second :]
            middle = [string.before, string.after]
        else:
            middle = [side.before, side.after]
        rails.append(np.concatenate([head, *middle, tail]))
    mouths = (
        strings[0].mouth if strings[0] else None,
        strings[1].mouth if strings[1] else None,
    )
    return Bridge(drop_first, drop_second, (rails[0], rails[1]), mouths)


def join_over(
    first: NDArray[np.float64], bridge: Bridge, second: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return one ladder through a junction, its rungs spread evenly over the bridge.

    Towards a mouth chords fan about its corners; those fans are laid out anew with the bridge.

    Parameters
    ----------
    first, second : (k, 2, 2), (m, 2, 2) float64 [mm]
    bridge : Bridge
    """
    first = first[: len(first) - bridge.drop_first]
    back = turned_round(second[bridge.drop_second :])
    head, left, right = cut_even(first, fan_start(first, least_turn_rad=_FAN_RAD))
    tail, far_right, far_left = cut_even(back, fan_start(back, least_turn_rad=_FAN_RAD))
    over = between_rails(
        np.concatenate([left, bridge.rails_mm[0], far_left[::-1]]),
        np.concatenate([right, bridge.rails_mm[1], far_right[::-1]]),
    )
    return np.concatenate([head[:-1], over, turned_round(tail)[1:]])


@dataclass(frozen=True, slots=True, eq=False)
class _String:
    """A taut string: rungs dropped for it, the outline kept on both sides, the moved mouth."""

    drop_first: int
    drop_second: int
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    mouth: Mouth


def _window(outward: NDArray[np.float64], radius_mm: float) -> int:
    """Return how many rungs of a ladder, from the junction on, may fall away."""
    along = rail_lengths(outward).mean(axis=1)
    limit = min(_WINDOW_RADII * radius_mm, _WINDOW_SHARE * float(along[-1]))
    return min(int(np.searchsorted(along, limit)), len(outward) - 1)


def _pull_taut(
    first: NDArray[np.float64], second: NDArray[np.float64], side: Side, radius_mm: float
) -> _String | None:
    """Return the shortest way along the rail, straight over the mouth; None if it gains little."""
    before = np.concatenate([first, side.before])
    after = np.concatenate([side.after, second])
    if len(before) < 2 or len(after) < 2:
        return None
    there = _places(before)
    back = _places(after[::-1])[::-1]
    gap = np.hypot(*(before[:, None] - after[None]).transpose(2, 0, 1))
    total = there[:, None] + gap + back[None]
    away = (there[-1] - there)[:, None] + (back[0] - back)[None]
    i, j = np.unravel_index(int(np.argmin(total + _MOVE_COST * away)), total.shape)
    if total[-1, 0] - total[i, j] < _LEAST_GAIN * radius_mm:
        return None
    drop_first, drop_second = max(len(first) - 1 - int(i), 0), max(int(j) - len(side.after), 0)
    return _String(
        drop_first=drop_first,
        drop_second=drop_second,
        before=before[len(first) - drop_first : i + 1],
        after=after[j : len(side.after) + drop_second],
        mouth=Mouth(before=before[i:][::-1], after=after[: j + 1]),
    )


def _places(line: NDArray[np.float64]) -> NDArray[np.float64]:
    step = np.diff(line, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])
