"""Which two arms of a junction are one stroke that runs through it.

In: axis points of each arm and the junction. Out: the pair that turns least, if any turns little
enough; the other arms butt on it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.geometry.axis_chains import Junction

# Two arms are one stroke when the axis turns less than this. Of three arms two always turn at
# most 60 degrees, so only hubs of strongly bent arms stay without a pair.
_PAIR_TURN_RAD = np.radians(62.0)
# Unequal widths pair worse: one octave of width counts as this much turn. Our own trials.
_OCTAVE_TURN_RAD = np.radians(20.0)
_MOST_CARRY_RAD = np.radians(30.0)

Way = tuple["NDArray[np.float64]", float]
"""A unit direction and a half width [mm]."""


def best_pair(ways: Sequence[Way]) -> tuple[int, int] | None:
    """Return the two arms that make the straightest stroke of even width, or None.

    Parameters
    ----------
    ways : sequence of Way
        Direction and half width of each arm where it leaves the junction.
    """
    best: tuple[float, int, int] | None = None
    for i in range(len(ways)):
        for j in range(i + 1, len(ways)):
            cost, turn = _pair_cost(ways[i], ways[j])
            if turn < _PAIR_TURN_RAD and (best is None or cost < best[0]):
                best = (cost, i, j)
    return None if best is None else best[1:]


def leaving_direction(
    centres: NDArray[np.float64], radii: NDArray[np.float64], joint: Junction
) -> tuple[NDArray[np.float64], float]:
    """Return the unit direction in which an axis leaves a junction, and its half width there.

    Parameters
    ----------
    centres : (k, 2) float64 [mm]
        Axis points from the junction outwards.
    radii : (k,) float64 [mm]
    joint : Junction

    Notes
    -----
    Inside the junction's circle the axis is drawn aside by the other arms, so the direction is
    taken beyond it, and a curved arm's is carried back to the junction by its own curvature.
    """
    away = np.hypot(*(centres - joint.centre_mm).T)
    first = int(np.argmax(away > joint.radius_mm))
    if away[first] <= joint.radius_mm or len(centres) - first < 3:
        way = centres[-1] - joint.centre_mm
        return _unit(way), float(np.median(radii))
    place = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(centres[first:], axis=0).T))])
    width = float(np.median(radii[first : first + len(place) // 2 + 1]))
    reach = min(float(radii[first]), 0.5 * float(place[-1]))
    marks = [
        np.array([np.interp(k * reach, place, centres[first:, axis]) for axis in (0, 1)])
        for k in (0, 1, 2)
    ]
    near, far = _unit(marks[1] - marks[0]), _unit(marks[2] - marks[1])
    curve = float(np.arctan2(far[0] * near[1] - far[1] * near[0], far @ near))
    turn = float(np.clip(curve, -_MOST_CARRY_RAD, _MOST_CARRY_RAD))
    cos, sin = np.cos(turn), np.sin(turn)
    return np.array([cos * near[0] - sin * near[1], sin * near[0] + cos * near[1]]), width


def _unit(way: NDArray[np.float64]) -> NDArray[np.float64]:
    size = float(np.hypot(*way))
    return way / size if size > 0 else np.array([1.0, 0.0])


def _pair_cost(
    one: tuple[NDArray[np.float64], float], two: tuple[NDArray[np.float64], float]
) -> tuple[float, float]:
    """Return how badly two arms go together, and the turn between them [rad]."""
    turn = float(np.arccos(np.clip(-(one[0] @ two[0]), -1.0, 1.0)))
    octaves = abs(float(np.log2(max(one[1], 1e-6) / max(two[1], 1e-6))))
    return turn + _OCTAVE_TURN_RAD * octaves, turn
