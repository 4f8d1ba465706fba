"""A ladder: two rails with rungs between them, the shape of one strip of an area.

An array (k, 2, 2) of rungs [rung, left/right, x/y] in mm. Both rails only move forward. Pieces of
a strip are ladders, so joining, turning round and smoothing are array operations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_EVEN_RUNGS = 4
_STANDING_SHARE = 0.15


def rail_lengths(ladder: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (k, 2) float64 [mm]: distance along each rail from the first rung.

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    """
    step = np.diff(ladder, axis=0)
    length = np.hypot(step[..., 0], step[..., 1])
    return np.concatenate([np.zeros((1, 2)), np.cumsum(length, axis=0)])


def rung_widths(ladder: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (k,) float64 [mm]: length of each rung.

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    """
    across = ladder[:, 1] - ladder[:, 0]
    return np.hypot(across[:, 0], across[:, 1])


def turned_round(ladder: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the same strip walked the other way, (k, 2, 2) float64 [mm].

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    """
    return np.ascontiguousarray(ladder[::-1, ::-1])


def between_rails(left: NDArray[np.float64], right: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the ladder whose rungs join equal shares of two rails' lengths.

    Parameters
    ----------
    left, right : (a, 2), (b, 2) float64 [mm]
        Rails as polylines; one may stand still at a point.

    Returns
    -------
    (k, 2, 2) float64 [mm]
        A rung at every vertex of either rail.
    """
    shares = [_shares(left), _shares(right)]
    at = np.unique(np.concatenate([*shares, [0.0, 1.0]]))
    rails = [
        np.stack([np.interp(at, share, rail[:, axis]) for axis in (0, 1)], axis=1)
        for share, rail in zip(shares, (left, right), strict=True)
    ]
    return np.stack(rails, axis=1)


def cut_even(
    ladder: NDArray[np.float64], rung: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return a ladder up to a rung, and the left and right rail from there on.

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    rung : int

    Returns
    -------
    head : (a, 2, 2) float64 [mm]
        Ends with a rung that is the mean of the rungs about the cut: chords between samples are
        skewed by up to one sample, their mean is not.
    left, right : (b, 2), (c, 2) float64 [mm]
        Rails from the head's last rung to the ladder's end.
    """
    lengths = rail_lengths(ladder)
    reach = min(_EVEN_RUNGS, rung, len(ladder) - 1 - rung)
    at = lengths[rung - reach : rung + reach + 1].mean(axis=0)
    points = [
        np.array([np.interp(at[side], lengths[:, side], ladder[:, side, axis]) for axis in (0, 1)])
        for side in (0, 1)
    ]
    # A rail may stand still there: its rungs so far belong to the head.
    head = ladder[(lengths <= at + 1e-9).all(axis=1)]
    rails = [
        np.concatenate([points[side][None], ladder[lengths[:, side] > at[side], side]])
        for side in (0, 1)
    ]
    return np.concatenate([head, np.array(points)[None]]), rails[0], rails[1]


def fan_start(ladder: NDArray[np.float64], *, least_turn_rad: float) -> int:
    """Return the rung at which the fan at a ladder's end begins; the last rung without a fan.

    A fan stands on one rail, within a small share of the width, while its rungs turn.

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    least_turn_rad : float [rad]
        A smaller turn is no fan.
    """
    n = len(ladder)
    width = rung_widths(ladder)
    across = ladder[:, 1] - ladder[:, 0]
    angle = np.unwrap(np.arctan2(across[:, 1], across[:, 0]))
    best = n - 1
    for side in (0, 1):
        moved = np.hypot(*np.diff(ladder[:, side], axis=0).T)
        to_go = np.concatenate([np.cumsum(moved[::-1])[::-1], [0.0]])
        moving = np.flatnonzero(to_go > _STANDING_SHARE * width)
        first = int(moving[-1]) + 1 if len(moving) else 0
        if first < n - 1 and abs(angle[-1] - angle[first]) > least_turn_rad:
            best = min(best, first)
    return best


def without_repeats(ladder: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the ladder without rungs that repeat the one before, (m, 2, 2) float64 [mm].

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
    """
    moved = np.abs(np.diff(ladder, axis=0)).max(axis=(1, 2)) > 1e-9
    return np.asarray(ladder[np.concatenate([[True], moved])])


def smoothed(
    ladder: NDArray[np.float64], *, window_mm: float, step_mm: float, is_closed: bool = False
) -> NDArray[np.float64]:
    """Return a ladder on the same rails whose rungs turn gradually.

    Parameters
    ----------
    ladder : (k, 2, 2) float64 [mm]
        A closed one repeats its first rung at the end.
    window_mm : float [mm]
        Length over which positions along the rails are averaged, twice.
    step_mm : float [mm]
        Distance of the new rungs, along the mean of the rails.
    is_closed : bool
        True joins the last rung to the first.

    Notes
    -----
    Averaging positions along the rails, not points, keeps both rails where they are and keeps
    them moving forward: a positive kernel maps a rising sequence to a rising one.
    """
    lengths = rail_lengths(ladder)
    middle = lengths.mean(axis=1)
    total = float(middle[-1])
    if total <= 0 or len(ladder) < 3:
        return ladder
    n = max(int(np.ceil(total / step_mm)), 4)
    grid = np.linspace(0.0, total, n + 1)
    along = np.stack([np.interp(grid, middle, lengths[:, side]) for side in (0, 1)], axis=1)
    half = min(round(0.5 * window_mm / (total / n)), n // 2)
    if half > 0:
        for _ in range(2):
            along = _box_mean(along, half, period=along[-1] - along[0] if is_closed else None)
    along = np.clip(np.maximum.accumulate(along, axis=0), 0.0 if not is_closed else None, None)
    return _on_rails(ladder, lengths, along, is_closed=is_closed)


def _box_mean(
    along: NDArray[np.float64], half: int, *, period: NDArray[np.float64] | None
) -> NDArray[np.float64]:
    """Return the running mean over 2 half + 1 rows; ends reflected through themselves."""
    if period is None:
        before = 2 * along[0] - along[half:0:-1]
        after = 2 * along[-1] - along[-2 : -half - 2 : -1]
    else:
        before = along[-half - 1 : -1] - period
        after = along[1 : half + 1] + period
    sums = np.cumsum(np.concatenate([np.zeros((1, 2)), before, along, after]), axis=0)
    width = 2 * half + 1
    return np.asarray((sums[width:] - sums[:-width]) / width)


def _on_rails(
    ladder: NDArray[np.float64],
    lengths: NDArray[np.float64],
    along: NDArray[np.float64],
    *,
    is_closed: bool,
) -> NDArray[np.float64]:
    """Return rungs at given distances along each rail."""
    result = np.empty((len(along), 2, 2))
    for side in (0, 1):
        place = along[:, side]
        if is_closed:
            place = np.mod(place, lengths[-1, side]) if lengths[-1, side] > 0 else place * 0
        for axis in (0, 1):
            result[:, side, axis] = np.interp(place, lengths[:, side], ladder[:, side, axis])
    if is_closed:
        result[-1] = result[0]
    return result


def _shares(rail: NDArray[np.float64]) -> NDArray[np.float64]:
    step = np.diff(rail, axis=0)
    length = np.concatenate([[0.0], np.cumsum(np.hypot(step[:, 0], step[:, 1]))])
    if length[-1] <= 0:
        return np.linspace(0.0, 1.0, len(rail)) if len(rail) > 1 else np.zeros(1)
    return np.asarray(length / length[-1])
