"""Cutting strips where their rungs would fan sharply about one point.

In: strips. Out: the same strips, cut from the inner corner to the outer one, each half with a
mitred end.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter1d

from firstpiece.geometry.ladder import rail_lengths, rung_widths
from firstpiece.geometry.strips import EndKind, Strip, StripEnd

if TYPE_CHECKING:
    from numpy.typing import NDArray

# geometry study: corners over 52 degrees are cut; without an outer corner to aim at, a fan sews
# well up to about a right angle and knots beyond.
_CORNER_TURN_RAD = np.radians(52.0)
_SMOOTH_TURN_RAD = np.radians(100.0)
# The inner rail of a fan moves less than this share of the width while the rungs turn.
_STANDING_SHARE = 0.18
_SETTLED_SHARE = 0.4
_SCRAP_SHARE = 0.6
_SETTLED_TURN_RAD = np.radians(45.0)
# Corners are looked for on rails evened over this share of the width, in steps of that: the wobble
# of a hand-drawn outline turned a fifth of all letters into other columns before.
_EVEN_SHARE = 0.12
_EVEN_STEP_SHARE = 0.04
_MOST_EVEN = 20_000


def cut_at_corners(strip: Strip) -> tuple[Strip, ...]:
    """Return the pieces of a strip, cut at its sharp corners.

    Parameters
    ----------
    strip : Strip
        A ring with one corner or more becomes open.
    """
    cuts = _steady_rungs(strip.ladder_mm, is_closed=strip.is_closed)
    if not cuts:
        return (strip,)
    ladder = strip.ladder_mm
    if strip.is_closed:
        ladder = np.concatenate([ladder[cuts[0] : -1], ladder[: cuts[0] + 1]])
        count = len(ladder) - 1
        cuts = [(c - cuts[0]) % count for c in cuts[1:]]
        strip = replace(strip, start=_mitre(ladder[0, ::-1]), end=_mitre(ladder[-1]))
    bounds = [0, *cuts, len(ladder) - 1]
    pieces = []
    for first, last in itertools.pairwise(bounds):
        rows = ladder[first : last + 1]
        start = _mitre(rows[0, ::-1]) if first > 0 else strip.start
        end = _mitre(rows[-1]) if last < len(ladder) - 1 else strip.end
        pieces.append(replace(strip, ladder_mm=rows, start=start, end=end))
    return tuple(pieces)


def _mitre(rung: NDArray[np.float64]) -> StripEnd:
    return StripEnd(EndKind.MITRE, np.ascontiguousarray(rung))


def _steady_rungs(ladder: NDArray[np.float64], *, is_closed: bool) -> list[int]:
    """Return the rungs to cut at, found on rails without their wobble."""
    even, place, even_place = _without_wobble(ladder, is_closed=is_closed)
    cuts = _corner_rungs(even, is_closed=is_closed)
    near = {int(np.argmin(np.abs(place - even_place[min(c, len(even) - 1)]))) for c in cuts}
    last = len(ladder) - 1
    return sorted(c for c in near if is_closed or 0 < c < last)


def _without_wobble(
    ladder: NDArray[np.float64], *, is_closed: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return a ladder with evened rails, and how far along the rungs of both ladders lie."""
    place = rail_lengths(ladder).mean(axis=1)
    width = float(np.median(rung_widths(ladder)))
    if place[-1] <= 0 or width <= 0:
        return ladder, place, place
    count = int(np.clip(place[-1] / (_EVEN_STEP_SHARE * width), 8, _MOST_EVEN))
    at = np.linspace(0.0, place[-1], count)
    flat = ladder.reshape(len(ladder), 4)
    rows = np.stack([np.interp(at, place, flat[:, k]) for k in range(4)], axis=1)
    sigma = _EVEN_SHARE * width / (place[-1] / (count - 1))
    if is_closed:
        rows[:-1] = gaussian_filter1d(rows[:-1], sigma, axis=0, mode="wrap")
        rows[-1] = rows[0]
    else:
        # The line from end to end is taken off first, so that the ends stay where they are.
        line = rows[0] + np.linspace(0, 1, count)[:, None] * (rows[-1] - rows[0])
        odd = np.concatenate([-(rows - line)[:0:-1], rows - line, -(rows - line)[-2::-1]])
        rows = line + gaussian_filter1d(odd, sigma, axis=0)[count - 1 : 2 * count - 1]
    return rows.reshape(count, 2, 2), place, at


def _corner_rungs(ladder: NDArray[np.float64], *, is_closed: bool) -> list[int]:
    """Return the rungs to cut at, rising."""
    count = len(ladder) - 1
    rows = np.concatenate([ladder, ladder[1:]]) if is_closed else ladder
    lengths = rail_lengths(rows)
    width = rung_widths(rows)
    across = rows[:, 1] - rows[:, 0]
    angle = np.unwrap(np.arctan2(across[:, 1], across[:, 0]))
    along = lengths.mean(axis=1)
    found: dict[int, float] = {}
    for side in (0, 1):
        for first, last, turn in _fans(lengths[:, side], angle, width, side):
            reach = _SETTLED_SHARE * width[first]
            ends = np.interp([along[first] - reach, along[last] + reach], along, angle)
            # A wobble turns the rungs and turns them back; a corner leaves them turned.
            if abs(ends[1] - ends[0]) < _SETTLED_TURN_RAD:
                continue
            cut = _place_cut(rows, angle, first, last, 1 - side, turn)
            if cut is not None:
                cut = cut % count if is_closed else cut
                found[cut] = max(found.get(cut, 0.0), turn)
    # A cut too near an open end would leave a scrap: the end itself turns there.
    place, across_mm = lengths.mean(axis=1), rung_widths(ladder)
    rungs = [
        c
        for c in sorted(found)
        if is_closed
        or _SCRAP_SHARE * across_mm[c] < place[c] < place[-1] - _SCRAP_SHARE * across_mm[c]
    ]
    return _spread(rungs, place, across_mm)


def _spread(rungs: list[int], place: NDArray[np.float64], width: NDArray[np.float64]) -> list[int]:
    """Drop cuts closer than a third of the width to the one before."""
    kept: list[int] = []
    for rung in rungs:
        if not kept or place[rung] - place[kept[-1]] > 0.33 * width[rung]:
            kept.append(rung)
    return kept


def _fans(
    inner: NDArray[np.float64], angle: NDArray[np.float64], width: NDArray[np.float64], side: int
) -> list[tuple[int, int, float]]:
    """Return (first rung, last rung, turn) of disjoint fans about one point of a rail."""
    reach = inner + _STANDING_SHARE * width
    last = np.minimum(np.searchsorted(inner, reach, side="right") - 1, len(inner) - 1)
    # Turning left (angle rises) stands on the left rail, turning right on the right one.
    turn = (angle[last] - angle) * (1.0 if side == 0 else -1.0)
    fans = []
    i = 0
    while i < len(turn):
        if turn[i] < _CORNER_TURN_RAD:
            i += 1
            continue
        # Over the rungs whose window overlaps, take the one that turns most.
        stop = int(np.searchsorted(np.arange(len(turn)), last[i]))
        best = i + int(np.argmax(turn[i : stop + 1]))
        fans.append((best, int(last[best]), float(turn[best])))
        i = max(int(last[best]), i + 1)
    return fans


def _place_cut(
    rows: NDArray[np.float64],
    angle: NDArray[np.float64],
    first: int,
    last: int,
    outer: int,
    turn: float,
) -> int | None:
    """Return the rung from the inner point to the outer corner; None where a fan sews well."""
    rail = rows[first : last + 1, outer]
    bend = _bends(rail, 0.35 * float(rung_widths(rows[first : last + 1]).mean()))
    middle = 0.5 * (angle[first] + angle[last])
    off = np.abs(angle[first : last + 1] - middle)
    near = off < 0.3 * turn
    sharpest = int(np.argmax(np.where(near, bend, -1.0)))
    if bend[sharpest] > 0.45 * turn:
        return first + sharpest
    if turn < _SMOOTH_TURN_RAD:
        return None
    return first + int(np.argmin(off))


def _bends(rail: NDArray[np.float64], arm_mm: float) -> NDArray[np.float64]:
    """Return (k,) the turn of a rail at each of its points, over an arm to each side [rad]."""
    step = np.hypot(*np.diff(rail, axis=0).T)
    place = np.concatenate([[0.0], np.cumsum(step)])

    def at(where: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.stack([np.interp(where, place, rail[:, axis]) for axis in (0, 1)], axis=1)

    before, after = rail - at(place - arm_mm), at(place + arm_mm) - rail
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.abs(np.arctan2(cross, (before * after).sum(axis=1))))
