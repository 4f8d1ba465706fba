"""Circles and ellipses fitted to points, held against closed forms of analytic geometry.

Circle through three points: circumradius R = abc / (4 area). Ellipse: the conic
x²/a² + y²/b² = 1, turned and moved. Area of an ellipse π a b; circumference by Ramanujan's second
approximation (1914), exact to 1e-7 here.
"""

import numpy as np
import pytest

from firstpiece.geometry.edge_fit import fit_circle, fit_edge, fit_ellipse


def ellipse(centre, major, minor, turn, n=200):
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    c, s = np.cos(turn), np.sin(turn)
    return centre + np.column_stack([major * np.cos(t), minor * np.sin(t)]) @ [[c, s], [-s, c]]


def loop(points):
    return np.vstack([points, points[:1]])


def area(points):
    x, y = points.T
    return 0.5 * np.abs((x[:-1] * y[1:] - x[1:] * y[:-1]).sum())


@pytest.mark.parametrize("triangle", [[(0, 0), (3, 0), (0, 4)], [(1, 1), (7, 2), (4, 9)]])
def test_circumcircle_of_a_triangle(triangle):
    points = np.array(triangle, dtype=float)
    a, b, c = (np.hypot(*(points[i] - points[j])) for i, j in ((0, 1), (1, 2), (2, 0)))
    half = (a + b + c) / 2
    heron = np.sqrt(half * (half - a) * (half - b) * (half - c))
    centre, radius = fit_circle(points)
    assert radius == pytest.approx(a * b * c / (4 * heron), rel=1e-12)
    np.testing.assert_allclose(np.hypot(*(points - centre).T), radius, rtol=1e-12)


@pytest.mark.parametrize(("major", "minor", "turn"), [(5, 3, 0.4), (40, 39, -1.2), (80, 4, 1.5)])
def test_an_ellipse_comes_back(major, minor, turn):
    centre, a, b, t = fit_ellipse(ellipse([120.0, -7.0], major, minor, turn))
    np.testing.assert_allclose(centre, [120.0, -7.0], atol=1e-6)
    np.testing.assert_allclose([a, b], [major, minor], rtol=1e-6)
    assert np.abs(np.sin(t - turn)) < 1e-4


@pytest.mark.parametrize("direction", [1, -1])
@pytest.mark.parametrize(("major", "minor", "figure"), [(30, 30, "circle"), (40, 20, "ellipse")])
def test_a_wobbling_round_edge_becomes_the_figure(direction, major, minor, figure):
    points = ellipse([0.0, 0.0], major, minor, 0.3)[::direction]
    noise = np.random.default_rng(2).uniform(-0.25, 0.25, points.shape)
    edge = fit_edge(loop(points + noise), tolerance=0.5, is_loop=True, flatness=0.01)
    assert edge.figure == figure
    assert len(edge.cubics) == 4
    assert area(edge.points) == pytest.approx(np.pi * major * minor, rel=0.01)
    x, y = edge.points.T
    assert np.sign((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) == direction


def test_a_square_with_round_corners_is_neither():
    t = np.linspace(0, 2 * np.pi, 300, endpoint=False)
    points = 30 * np.column_stack(
        [
            np.sign(np.cos(t)) * np.abs(np.cos(t)) ** 0.5,
            np.sign(np.sin(t)) * np.abs(np.sin(t)) ** 0.5,
        ]
    )
    edge = fit_edge(loop(points), tolerance=0.5, is_loop=True, flatness=0.01)
    assert edge.figure == "curves"


def test_a_wobbling_line_becomes_straight_between_its_ends():
    x = np.linspace(0, 50, 60)
    y = 0.3 * np.sin(x)
    edge = fit_edge(np.column_stack([x, y]), tolerance=0.4, is_loop=False, flatness=0.01)
    assert edge.figure == "line"
    np.testing.assert_allclose(edge.points, [[0, 0], [50, 0.3 * np.sin(50)]])


def test_too_few_points_make_no_ellipse():
    assert fit_ellipse(np.zeros((5, 2))) is None
    assert fit_ellipse(np.column_stack([np.arange(6.0), np.arange(6.0)])) is None
