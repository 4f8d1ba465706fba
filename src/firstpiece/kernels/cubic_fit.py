"""Cubic Bézier curves through points: as few as a tolerance allows, smooth where they join.

Input: points along an arc. Output: control points of the curves, end to end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

REPARAMETRISED = 4
"""Times that the points' places along a curve are found anew before it is cut in two."""


@njit(cache=True)
def _tangent(points: NDArray[np.float64], at: int, step: int, reach: int) -> tuple[float, float]:
    """Return the unit direction in which the points leave ``at``, by least squares."""
    n = min(reach, (points.shape[0] - 1 - at) if step > 0 else at)
    dx, dy = 0.0, 0.0
    for k in range(1, n + 1):
        dx += k * (points[at + step * k, 0] - points[at, 0])
        dy += k * (points[at + step * k, 1] - points[at, 1])
    length = np.hypot(dx, dy)
    if length == 0.0:
        return 1.0, 0.0
    return dx / length, dy / length


@njit(cache=True)
def _bezier(c: NDArray[np.float64], t: float) -> tuple[float, float]:
    s = 1.0 - t
    a, b, d, e = s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t
    x = a * c[0, 0] + b * c[1, 0] + d * c[2, 0] + e * c[3, 0]
    y = a * c[0, 1] + b * c[1, 1] + d * c[2, 1] + e * c[3, 1]
    return x, y


@njit(cache=True)
def _solve(  # noqa: PLR0913 (a kernel's plain arguments)
    points: NDArray[np.float64],
    first: int,
    last: int,
    u: NDArray[np.float64],
    t1: tuple[float, float],
    t2: tuple[float, float],
    c: NDArray[np.float64],
) -> None:
    """Write the cubic with these end tangents nearest to the points at the parameters u."""
    ax, ay, bx, by = points[first, 0], points[first, 1], points[last, 0], points[last, 1]
    c00, c01, c11, x0, x1 = 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(first, last + 1):
        t = u[i - first]
        s = 1.0 - t
        b1, b2 = 3.0 * s * s * t, 3.0 * s * t * t
        near, far = s * s * s + b1, b2 + t * t * t
        dx, dy = points[i, 0] - near * ax - far * bx, points[i, 1] - near * ay - far * by
        c00 += b1 * b1
        c01 += b1 * b2 * (t1[0] * t2[0] + t1[1] * t2[1])
        c11 += b2 * b2
        x0 += b1 * (t1[0] * dx + t1[1] * dy)
        x1 += b2 * (t2[0] * dx + t2[1] * dy)
    chord = np.hypot(bx - ax, by - ay)
    det = c00 * c11 - c01 * c01
    alpha1 = alpha2 = chord / 3.0
    if det > 1e-12 * c00 * c11:
        one, two = (x0 * c11 - x1 * c01) / det, (c00 * x1 - c01 * x0) / det
        # Handles that point backwards or far past the other end would make loops.
        if 1e-3 * chord < one < 3.0 * chord and 1e-3 * chord < two < 3.0 * chord:
            alpha1, alpha2 = one, two
    c[0, 0], c[0, 1], c[3, 0], c[3, 1] = ax, ay, bx, by
    c[1, 0], c[1, 1] = ax + alpha1 * t1[0], ay + alpha1 * t1[1]
    c[2, 0], c[2, 1] = bx + alpha2 * t2[0], by + alpha2 * t2[1]


@njit(cache=True)
def _worst(
    points: NDArray[np.float64], first: int, last: int, u: NDArray[np.float64],
    c: NDArray[np.float64],
) -> tuple[float, int]:  # fmt: skip
    worst, where = 0.0, (first + last) // 2
    for i in range(first + 1, last):
        x, y = _bezier(c, u[i - first])
        off = (x - points[i, 0]) ** 2 + (y - points[i, 1]) ** 2
        if off > worst:
            worst, where = off, i
    return worst, where


@njit(cache=True)
def _improve(
    points: NDArray[np.float64], first: int, last: int, u: NDArray[np.float64],
    c: NDArray[np.float64],
) -> None:  # fmt: skip
    """Move each parameter one Newton step towards the foot of its point on the curve."""
    for i in range(first + 1, last):
        t = u[i - first]
        s = 1.0 - t
        x, y = _bezier(c, t)
        d1x = 3.0 * (s * s * (c[1, 0] - c[0, 0]) + 2.0 * s * t * (c[2, 0] - c[1, 0])
                     + t * t * (c[3, 0] - c[2, 0]))  # fmt: skip
        d1y = 3.0 * (s * s * (c[1, 1] - c[0, 1]) + 2.0 * s * t * (c[2, 1] - c[1, 1])
                     + t * t * (c[3, 1] - c[2, 1]))  # fmt: skip
        d2x = 6.0 * (s * (c[2, 0] - 2 * c[1, 0] + c[0, 0])
                     + t * (c[3, 0] - 2 * c[2, 0] + c[1, 0]))  # fmt: skip
        d2y = 6.0 * (s * (c[2, 1] - 2 * c[1, 1] + c[0, 1])
                     + t * (c[3, 1] - 2 * c[2, 1] + c[1, 1]))  # fmt: skip
        dx, dy = x - points[i, 0], y - points[i, 1]
        slope = d1x * d1x + d1y * d1y + dx * d2x + dy * d2y
        if slope > 1e-12:
            t -= (dx * d1x + dy * d1y) / slope
        u[i - first] = min(max(t, 0.0), 1.0)


@njit(cache=True)
def _fit_one(  # noqa: PLR0913 (a kernel's plain arguments)
    points: NDArray[np.float64],
    first: int,
    last: int,
    t1: tuple[float, float],
    t2: tuple[float, float],
    limit2: float,
    c: NDArray[np.float64],
) -> tuple[bool, int]:
    """Write the best cubic for the points; return whether it is near enough, and where not."""
    u = np.zeros(last - first + 1)
    for i in range(first + 1, last + 1):
        step = np.hypot(points[i, 0] - points[i - 1, 0], points[i, 1] - points[i - 1, 1])
        u[i - first] = u[i - first - 1] + step
    u /= max(u[-1], 1e-300)
    where = (first + last) // 2
    for _ in range(REPARAMETRISED + 1):
        _solve(points, first, last, u, t1, t2, c)
        worst, where = _worst(points, first, last, u, c)
        if worst <= limit2:
            return True, where
        if worst > 64.0 * limit2:
            return False, where
        _improve(points, first, last, u, c)
    return False, where


@njit(cache=True)
def fit_cubics(
    points: NDArray[np.float64],
    tolerance: float,
    reach: int,
    is_loop: bool,  # noqa: FBT001 (kernels take plain arguments)
) -> NDArray[np.float64]:
    """Return cubic curves that stray no further than a tolerance from the points.

    Parameters
    ----------
    points : (n, 2) float64
        At least two, in order; ends are kept. A loop repeats its first point.
    tolerance : float
        Largest distance of a point from the curve, in the points' unit.
    reach : int
        Points over which the direction at an end is taken.
    is_loop : bool
        True joins the last curve smoothly to the first.

    Returns
    -------
    (m, 4, 2) float64
        Each curve begins where the one before it ends, in the same direction.

    References
    ----------
    Schneider 1990, An algorithm for automatically fitting digitized curves, in Graphics Gems.
    """
    n = points.shape[0]
    out = np.empty((max(n - 1, 1), 4, 2))
    m = 0
    ahead = _tangent(points, 0, 1, reach)
    behind = _tangent(points, n - 1, -1, reach)
    if is_loop:
        x, y = ahead[0] - behind[0], ahead[1] - behind[1]
        length = max(np.hypot(x, y), 1e-300)
        ahead, behind = (x / length, y / length), (-x / length, -y / length)
    # Pieces still to fit, the next one on top.
    firsts = np.empty(n, dtype=np.int64)
    lasts = np.empty(n, dtype=np.int64)
    tangents = np.empty((n, 4))
    firsts[0], lasts[0] = 0, n - 1
    tangents[0] = np.array([ahead[0], ahead[1], behind[0], behind[1]])
    depth = 1
    while depth > 0:
        depth -= 1
        a, b = firsts[depth], lasts[depth]
        t1 = (tangents[depth, 0], tangents[depth, 1])
        t2 = (tangents[depth, 2], tangents[depth, 3])
        is_near, cut = _fit_one(points, a, b, t1, t2, tolerance * tolerance, out[m])
        if is_near or b - a < 2:
            m += 1
            continue
        # A cut close to an end leaves a piece too short to have a direction of its own.
        margin = min(reach, (b - a) // 3)
        cut = min(max(cut, a + max(margin, 1)), b - max(margin, 1))
        fore = _tangent(points, cut, 1, min(reach, b - cut))
        back = _tangent(points, cut, -1, min(reach, cut - a))
        x, y = fore[0] - back[0], fore[1] - back[1]
        length = max(np.hypot(x, y), 1e-300)
        x, y = x / length, y / length
        firsts[depth], lasts[depth] = cut, b
        tangents[depth] = np.array([x, y, t2[0], t2[1]])
        firsts[depth + 1], lasts[depth + 1] = a, cut
        tangents[depth + 1] = np.array([t1[0], t1[1], -x, -y])
        depth += 2
    return out[:m].copy()
