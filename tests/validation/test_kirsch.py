"""A round hole in a pulled sheet: Kirsch 1898 (closed form as every elasticity text prints it):
hoop stress 3 S across the pull, −S on the pull's axis; σθ(r) = S/2·(2 + a²/r² + 3a⁴/r⁴) across."""

import numpy as np
import pytest
from tests.validation.sheets import (
    edge_forces,
    everywhere,
    fitted_order,
    mapped_grid,
    plane_stress,
    solve_given,
)

from firstpiece.kernels.membrane import centre_strains

RADIUS, REACH, NU = 1.0, 12.0, 0.3


def exact_pull(point):
    """Exact force per length on the outer circle, unit pull along x."""
    r, angle = np.hypot(*point), np.arctan2(point[1], point[0])
    a2, a4 = (RADIUS / r) ** 2, (RADIUS / r) ** 4
    radial = 0.5 * (1 - a2) + 0.5 * (1 - 4 * a2 + 3 * a4) * np.cos(2 * angle)
    shear = -0.5 * (1 + 2 * a2 - 3 * a4) * np.sin(2 * angle)
    c, s = np.cos(angle), np.sin(angle)
    return radial * c - shear * s, radial * s + shear * c


def hoop_stress(n):
    """Element radii and hoop stress along the y axis and the x axis (a quarter ring)."""
    nodes, quads = mapped_grid(
        2 * n,
        n,
        lambda s, t: (
            RADIUS * (REACH / RADIUS) ** s * np.cos(t * np.pi / 2),
            RADIUS * (REACH / RADIUS) ** s * np.sin(t * np.pi / 2),
        ),
    )
    on_x = np.flatnonzero(np.abs(nodes[:, 1]) < 1e-9)
    on_y = np.flatnonzero(np.abs(nodes[:, 0]) < 1e-9)
    given = {int(2 * k + 1): 0.0 for k in on_x} | {int(2 * k): 0.0 for k in on_y}
    outer = np.arange(2 * n, len(nodes), 2 * n + 1)
    moduli = plane_stress(1.0, NU)
    forces = edge_forces(nodes, outer, exact_pull)
    moved = solve_given(nodes, quads, everywhere(moduli, quads), given, forces)
    stress = centre_strains(nodes, quads, moved) @ moduli
    radius = np.hypot(*nodes[quads].mean(axis=1).T)
    rows = np.arange(len(quads)).reshape(n, 2 * n)
    return radius[rows[-1]], stress[rows[-1], 0], radius[rows[0]], stress[rows[0], 1]


def at_the_hole(radius, stress):
    return np.polyval(np.polyfit(radius[:4] - RADIUS, stress[:4], 3), 0.0)


def test_stress_concentration():
    """Hoop stress at the hole is 3 across the pull and −1 on its axis (2 % on 48 elements)."""
    r_y, across, r_x, along = hoop_stress(48)
    assert at_the_hole(r_y, across) == pytest.approx(3.0, rel=0.02)
    assert at_the_hole(r_x, along) == pytest.approx(-1.0, abs=0.04)


def test_convergence_order():
    """The error of the stress along the y axis falls with the square of the element's size (at
    element centres; fitted order 1.7 to 2.4)."""
    sizes, errors = (12, 24, 48), []
    for n in sizes:
        r, across, _, _ = hoop_stress(n)
        a2, a4 = (RADIUS / r) ** 2, (RADIUS / r) ** 4
        exact = 0.5 * (2 + a2 + 3 * a4)
        errors.append(np.sqrt(np.mean((across - exact) ** 2)))
    assert 1.7 < fitted_order(1 / np.array(sizes), errors) < 2.4
