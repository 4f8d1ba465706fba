"""An edge redrawn by the simplest figure that follows it: line, circle, ellipse, or smooth curves.

Input: points along an edge and how far a figure may stray from them. Output: the nodes a person
would draw it with, and a fine polyline of it. Ends of an open edge stay where they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from firstpiece.kernels.cubic_fit import fit_cubics

if TYPE_CHECKING:
    from numpy.typing import NDArray

Figure = Literal["line", "circle", "ellipse", "curves"]
TANGENT_REACH = 6
QUARTER = 4.0 / 3.0 * (np.sqrt(2.0) - 1.0)
"""Handle length of a cubic that follows a quarter circle of radius 1."""

LEAST_ROUND_POINTS = 12


@dataclass(frozen=True, slots=True, eq=False)
class FittedEdge:
    """An edge as drawn.

    Parameters
    ----------
    figure : str
        "line", "circle", "ellipse" or "curves".
    cubics : (m, 4, 2) float64
        Control points, end to end; a straight line is one cubic.
    points : (k, 2) float64
        The same, as straight pieces; a loop repeats its first point.
    """

    figure: Figure
    cubics: NDArray[np.float64]
    points: NDArray[np.float64]


def fit_edge(
    points: NDArray[np.float64], *, tolerance: float, is_loop: bool, flatness: float
) -> FittedEdge:
    """Return the simplest figure within the tolerance of all points.

    Parameters
    ----------
    points : (n, 2) float64
        In order, at least two; a loop repeats its first point.
    tolerance : float
        Largest distance of a point from the figure, in the points' unit.
    is_loop : bool
        A loop without corners.
    flatness : float
        Largest distance of the straight pieces from the curves.
    """
    if not is_loop and _off_chord(points) <= tolerance:
        a, b = points[0], points[-1]
        line = np.array([[a, a + (b - a) / 3.0, b - (b - a) / 3.0, b]])
        return FittedEdge("line", line, np.array([a, b]))
    if is_loop and len(points) >= LEAST_ROUND_POINTS:
        found = _round_figure(points[:-1], tolerance)
        if found is not None:
            # The edge keeps its direction: what lies left of it stays left.
            cubics = found[1] if _turns_left(points) else found[1][::-1, ::-1].copy()
            return FittedEdge(found[0], cubics, flatten_cubics(cubics, flatness=flatness))
    cubics = fit_cubics(np.ascontiguousarray(points), tolerance, TANGENT_REACH, is_loop)
    return FittedEdge("curves", cubics, flatten_cubics(cubics, flatness=flatness))


def _turns_left(loop: NDArray[np.float64]) -> bool:
    x, y = loop.T
    return bool((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() > 0)


def _off_chord(points: NDArray[np.float64]) -> float:
    """Return the largest distance of points from the chord; infinite when they turn back."""
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length == 0.0:
        return float("inf")
    away = points - points[0]
    along = (away @ chord) / length
    if along.min() < -1.0 or along.max() > length + 1.0:
        return float("inf")
    across = (away[:, 1] * chord[0] - away[:, 0] * chord[1]) / length
    return float(np.abs(across).max())


def _round_figure(
    points: NDArray[np.float64], tolerance: float
) -> tuple[Figure, NDArray[np.float64]] | None:
    centre, radius = fit_circle(points)
    off = np.abs(np.hypot(*(points - centre).T) - radius)
    # A figure through a wobbling edge may stray by the tolerance, but not all on one side.
    if off.max() <= tolerance:
        return "circle", ellipse_cubics(centre, radius, radius, 0.0)
    fitted = fit_ellipse(points)
    if fitted is None:
        return None
    centre, major, minor, turn = fitted
    if minor <= 0 or _off_ellipse(points, centre, major, minor, turn) > tolerance:
        return None
    return "ellipse", ellipse_cubics(centre, major, minor, turn)


def fit_circle(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Return centre and radius of the least-squares circle.

    Parameters
    ----------
    points : (n, 2) float64
        At least three, not on a line.

    References
    ----------
    Pratt 1987 reduces to Kåsa's linear fit where points go all the way round; Kåsa 1976, A circle
    fitting procedure and its error analysis, IEEE Trans. Instrum. Meas. 25, 8–14.
    """
    middle = points.mean(axis=0)
    xy = points - middle
    design = np.column_stack([2.0 * xy, np.ones(len(xy))])
    a, b, c = np.linalg.lstsq(design, (xy**2).sum(axis=1), rcond=None)[0]
    return middle + np.array([a, b]), float(np.sqrt(max(c + a * a + b * b, 0.0)))


def fit_ellipse(
    points: NDArray[np.float64],
) -> tuple[NDArray[np.float64], float, float, float] | None:
    """Return centre, half axes (the larger first) and turn [rad] of the least-squares ellipse.

    Parameters
    ----------
    points : (n, 2) float64

    Returns
    -------
    tuple or None
        None when the points determine no ellipse.

    References
    ----------
    Fitzgibbon, Pilu & Fisher 1999, Direct least square fitting of ellipses, IEEE PAMI 21, 476–480,
    in the stable form of Halíř & Flusser 1998.
    """
    middle = points.mean(axis=0)
    size = float(np.abs(points - middle).max())
    if size == 0.0:
        return None
    x, y = ((points - middle) / size).T
    square = np.column_stack([x * x, x * y, y * y])
    linear = np.column_stack([x, y, np.ones_like(x)])
    s1, s2, s3 = square.T @ square, square.T @ linear, linear.T @ linear
    try:
        carry = -np.linalg.solve(s3, s2.T)
    except np.linalg.LinAlgError:
        return None
    reduced = s1 + s2 @ carry
    constrained = np.array([reduced[2] / 2.0, -reduced[1], reduced[0] / 2.0])
    _values, vectors = np.linalg.eig(constrained)
    vectors = np.real(vectors)
    is_ellipse = 4.0 * vectors[0] * vectors[2] - vectors[1] ** 2
    if not (is_ellipse > 0).any():
        return None
    conic = vectors[:, int(is_ellipse.argmax())]
    return _axes(np.concatenate([conic, carry @ conic]), middle, size)


def _axes(
    conic: NDArray[np.float64], middle: NDArray[np.float64], size: float
) -> tuple[NDArray[np.float64], float, float, float] | None:
    """Centre, half axes and turn of a x² + b xy + c y² + d x + e y + f = 0."""
    a, b, c, d, e, f = conic
    form = np.array([[a, b / 2.0], [b / 2.0, c]])
    centre = np.linalg.solve(2.0 * form, -np.array([d, e]))
    level = -(f + 0.5 * (d * centre[0] + e * centre[1]))
    values, axes = np.linalg.eigh(form / level) if level != 0 else (np.zeros(2), form)
    if not (values > 0).all():
        return None
    major, minor = 1.0 / np.sqrt(values)
    turn = float(np.arctan2(axes[1, 0], axes[0, 0]))
    return middle + size * centre, float(size * major), float(size * minor), turn


def _off_ellipse(
    points: NDArray[np.float64], centre: NDArray[np.float64], major: float, minor: float,
    turn: float,
) -> float:  # fmt: skip
    """Largest distance of points from an ellipse, by the gradient of its equation (near it)."""
    c, s = np.cos(turn), np.sin(turn)
    x = (points - centre) @ np.array([c, s])
    y = (points - centre) @ np.array([-s, c])
    value = (x / major) ** 2 + (y / minor) ** 2 - 1.0
    slope = 2.0 * np.hypot(x / major**2, y / minor**2)
    return float((np.abs(value) / np.maximum(slope, 1e-12)).max())


def ellipse_cubics(
    centre: NDArray[np.float64], major: float, minor: float, turn: float
) -> NDArray[np.float64]:
    """Return four cubics that follow an ellipse to 0.03 % of its half axes.

    Parameters
    ----------
    centre : (2,) float64
    major, minor : float
        Half axes.
    turn : float [rad]
        Of the major axis, anticlockwise from x.

    Returns
    -------
    (4, 4, 2) float64
        A quarter each, end to end.
    """
    k = QUARTER
    quarter = np.array([[1.0, 0.0], [1.0, k], [k, 1.0], [0.0, 1.0]])
    c, s = np.cos(turn), np.sin(turn)
    turned = np.array([[c, -s], [s, c]])
    out = []
    for _ in range(4):
        out.append(centre + (quarter * np.array([major, minor])) @ turned.T)
        quarter = quarter @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    return np.array(out)


def flatten_cubics(cubics: NDArray[np.float64], *, flatness: float) -> NDArray[np.float64]:
    """Return cubic curves as straight pieces.

    Parameters
    ----------
    cubics : (m, 4, 2) float64
        End to end.
    flatness : float
        Largest distance of the pieces from the curves.

    Returns
    -------
    (k, 2) float64
    """
    parts = [cubics[:1, 0]]
    for c in cubics:
        bend = max(np.hypot(*(c[0] - 2.0 * c[1] + c[2])), np.hypot(*(c[1] - 2.0 * c[2] + c[3])))
        # A cubic's second derivative is at most 6 bends; a piece strays by h²/8 times that.
        n = max(1, int(np.ceil(np.sqrt(0.75 * bend / flatness))))
        t = np.linspace(0.0, 1.0, n + 1)[1:, None]
        s = 1.0 - t
        parts.append(s**3 * c[0] + 3 * s * s * t * c[1] + 3 * s * t * t * c[2] + t**3 * c[3])
        parts[-1][-1] = c[3]
    return np.concatenate(parts)
