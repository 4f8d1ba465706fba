"""Whittaker smoothing of an arc with its ends held, as strongly as a limit on movement allows.

Input: evenly spaced points of an open arc or a closed loop. Output: the same number of points. The
penalised least squares problem is diagonal in the Fourier basis: an open arc is extended oddly
about its ends (which pins them), a loop is periodic already.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

STRETCH = 20.0
"""Points whose common movement is no longer wobble."""

ROUNDED = 3
"""Points on either side of a corner that soft edges round off."""

STILL = 0.1
"""Mean movement of a stretch that is let pass."""


def smooth_arc(
    points: NDArray[np.float64], strengths: NDArray[np.float64], *, is_closed: bool
) -> NDArray[np.float64]:
    """Return the arc smoothed with each strength.

    Parameters
    ----------
    points : (n, 2) float64
        Evenly spaced along the arc; a loop does not repeat its first point.
    strengths : (s,) float64
        λ of Σ|z − y|² + λ·Σ|second difference of z|²; 0 changes nothing.
    is_closed : bool
        True for a loop; False holds both ends where they are.

    Returns
    -------
    (s, n, 2) float64

    References
    ----------
    Eilers 2003, A perfect smoother, Analytical Chemistry 75(14) 3631–3636.
    """
    n = len(points)
    if n < 3:
        return np.repeat(points[None], len(strengths), axis=0)
    if is_closed:
        return _filter(points, strengths)
    share = np.linspace(0.0, 1.0, n)[:, None]
    chord = points[0] + share * (points[-1] - points[0])
    sag = points - chord
    odd = np.concatenate([sag, -sag[-2:0:-1]])
    smooth: NDArray[np.float64] = _filter(odd, strengths)[:, :n] + chord
    smooth[:, 0], smooth[:, -1] = points[0], points[-1]
    return smooth


def _filter(points: NDArray[np.float64], strengths: NDArray[np.float64]) -> NDArray[np.float64]:
    n = len(points)
    omega = 2.0 * np.pi * np.arange(n // 2 + 1) / n
    # |second difference|² has the eigenvalue (2 − 2 cos ω)² on the wave ω.
    penalty = (2.0 - 2.0 * np.cos(omega)) ** 2
    gain = 1.0 / (1.0 + strengths[:, None] * penalty)
    spectrum = np.fft.rfft(points, axis=0)
    smooth: NDArray[np.float64] = np.fft.irfft(gain[:, :, None] * spectrum, n=n, axis=1)
    return smooth


def smooth_within(
    points: NDArray[np.float64],
    strengths: NDArray[np.float64],
    *,
    limit: float,
    is_closed: bool,
    wobble: float = 0.0,
) -> NDArray[np.float64]:
    """Return the arc smoothed by the largest strength that only takes wobble away.

    Wobble moves points to either side in turn. A strength that moves any point further than the
    limit, or moves a whole stretch one way (which shrinks round shapes), is too large.

    Parameters
    ----------
    points : (n, 2) float64
        About one unit apart.
    strengths : (s,) float64
        Candidates, rising; the first is used even when it is too large.
    limit : float
        Largest movement of a point, in the points' unit.
    is_closed : bool
    wobble : float
        How far points are known to wobble; whole stretches may move by about as much.

    Returns
    -------
    (n, 2) float64
    """
    candidates = smooth_arc(points, strengths, is_closed=is_closed)
    step = points - candidates
    moved = np.sqrt((step**2).sum(axis=2)).max(axis=1, initial=0.0)
    drift = _drift(points, step, stretch=STRETCH + 8.0 * limit, is_closed=is_closed)
    fitting = np.flatnonzero((moved <= limit) & (drift <= STILL + 0.05 * limit + wobble))
    best: NDArray[np.float64] = candidates[fitting[-1] if len(fitting) else 0]
    return best


def across_moves(
    points: NDArray[np.float64], moves: NDArray[np.float64], *, is_closed: bool
) -> NDArray[np.float64]:
    """Return the part of moves that is across the arc.

    Parameters
    ----------
    points : (n, 2) float64
        Of the arc.
    moves : (s, n, 2) float64
        Sets of moves of its points.
    is_closed : bool

    Returns
    -------
    (s, n) float64
        Left is positive.
    """
    n = len(points)
    along = np.empty_like(points)
    along[1:-1] = points[2:] - points[:-2]
    along[0] = points[1 % n] - points[-1 if is_closed else 0]
    along[-1] = points[0 if is_closed else -1] - points[n - 2 if n > 1 else 0]
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
    across: NDArray[np.float64] = (
        moves[:, :, 1] * along[:, 0] - moves[:, :, 0] * along[:, 1]
    ) / length
    return across


def _drift(
    points: NDArray[np.float64],
    moves: NDArray[np.float64],
    *,
    stretch: float,
    is_closed: bool,
) -> NDArray[np.float64]:
    """Return for each set of moves (s, n, 2) the largest mean move across a stretch of arc."""
    n = len(points)
    across = across_moves(points, moves, is_closed=is_closed)
    width = min(max(round(stretch), 1), n)
    if is_closed:
        across = np.concatenate([across, across[:, : width - 1]], axis=1)
    total = np.concatenate([np.zeros((len(moves), 1)), np.cumsum(across, axis=1)], axis=1)
    means: NDArray[np.float64] = np.abs(total[:, width:] - total[:, :-width]).max(axis=1) / width
    return means


def find_corners(
    points: NDArray[np.float64], *, reach: int, least_turn_rad: float, is_closed: bool
) -> NDArray[np.int64]:
    """Return where an arc turns sharply, as rising indices.

    A corner turns by ``least_turn_rad`` within ``reach`` points either way, and turns nearly as
    much within half that reach; a round bend spreads its turn and is left alone.

    Parameters
    ----------
    points : (n, 2) float64
        Evenly spaced; a loop does not repeat its first point.
    reach : int
        Points looked at on either side.
    least_turn_rad : float [rad]
    is_closed : bool

    Returns
    -------
    (m,) int64
        Never the ends of an open arc.
    """
    n = len(points)
    if n < 2 * reach + 1:
        return np.zeros(0, dtype=np.int64)
    wide = _turn(points, reach)
    narrow = _turn(points, max(1, reach // 2))
    is_corner = (wide >= least_turn_rad) & (narrow >= 0.7 * wide)
    if not is_closed:
        is_corner[:reach] = False
        is_corner[n - reach :] = False
    sharpness = np.where(is_corner, wide + narrow, 0.0)
    peak = sharpness.copy()
    for shift in range(1, reach + 1):
        peak = np.maximum(peak, np.maximum(np.roll(sharpness, shift), np.roll(sharpness, -shift)))
    found = np.flatnonzero(is_corner & (sharpness >= peak))
    # Equal neighbours on a plateau: keep the first of each.
    keep = np.ones(len(found), dtype=bool)
    keep[1:] = np.diff(found) > reach // 2
    return found[keep]


def sharpen_corners(
    points: NDArray[np.float64],
    corners: NDArray[np.int64],
    *,
    reach: int,
    furthest: float,
    is_closed: bool,
) -> NDArray[np.float64]:
    """Return the points with each corner moved to where its two sides would meet.

    Parameters
    ----------
    points : (n, 2) float64
    corners : (m,) int64
        From ``find_corners``.
    reach : int
        Each side is the line from the ``ROUNDED``-th to the ``reach``-th point beside the corner;
        the points before are taken for rounded off and are laid on it.
    furthest : float
        A meeting point further away than this is not used.
    is_closed : bool

    Returns
    -------
    (n, 2) float64
    """
    out = points.copy()
    n = len(points)
    for corner in corners.tolist():
        if not is_closed and not reach <= corner < n - reach:
            continue
        p, q = points[(corner - ROUNDED) % n], points[(corner + ROUNDED) % n]
        u, v = p - points[(corner - reach) % n], q - points[(corner + reach) % n]
        cross = u[0] * v[1] - u[1] * v[0]
        if abs(cross) < 0.2 * np.hypot(*u) * np.hypot(*v):
            continue
        gap = q - p
        meeting = p + (gap[0] * v[1] - gap[1] * v[0]) / cross * u
        if np.hypot(*(meeting - points[corner])) > furthest:
            continue
        for k in range(ROUNDED):
            share = k / ROUNDED
            out[(corner - k) % n] = meeting + share * (p - meeting)
            out[(corner + k) % n] = meeting + share * (q - meeting)
    return out


def _turn(points: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Angle between the chords to the points ``reach`` before and after, 0 when straight."""
    ahead = np.roll(points, -reach, axis=0) - points
    behind = points - np.roll(points, reach, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    dot = (behind * ahead).sum(axis=1)
    angle: NDArray[np.float64] = np.abs(np.arctan2(cross, dot))
    return angle
