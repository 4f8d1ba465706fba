"""Cook's tapered panel: Cook 1974, Improved two-dimensional finite element, J. Struct. Div. ASCE
100(9) 1851: (0,0)(48,44)(48,60)(0,44), E 1, ν 1/3, thickness 1, unit shear load on the right edge;
the point (48,52) moves up 23.96 (own fine quadratic mesh: 23.9608)."""

import numpy as np
import pytest
from tests.validation.sheets import (
    edge_forces,
    everywhere,
    fitted_order,
    mapped_grid,
    plane_stress,
    solve_held,
)

REFERENCE = 23.9608


def tip(n):
    nodes, quads = mapped_grid(n, n, lambda s, t: (48 * s, 44 * s + t * (44 * (1 - s) + 16 * s)))
    is_held = np.repeat(nodes[:, 0] < 1e-9, 2)
    right = np.flatnonzero(nodes[:, 0] > 48 - 1e-9)
    forces = edge_forces(nodes, right, lambda _: (0.0, 1.0 / 16.0))
    moved = solve_held(nodes, quads, everywhere(plane_stress(1.0, 1 / 3), quads), is_held, forces)
    return moved[2 * right[len(right) // 2] + 1]


def test_tip_displacement():
    """The middle of the loaded edge moves up 23.96 (1 % on 32 elements, 0.3 % on 64)."""
    assert tip(32) == pytest.approx(REFERENCE, rel=0.01)
    assert tip(64) == pytest.approx(REFERENCE, rel=0.003)


def test_convergence_order():
    """The tip's error falls with nearly the square of the element's size (fitted order 1.7 to 2.1;
    the re-entrant corner costs the rest)."""
    sizes = (8, 16, 32, 64)
    errors = [REFERENCE - tip(n) for n in sizes]
    assert 1.7 < fitted_order(1 / np.array(sizes), errors) < 2.1


def test_tip_comes_nearer_from_below():
    """Displacements of compatible elements rise towards the exact value as the mesh is refined."""
    tips = [tip(n) for n in (4, 8, 16, 32)]
    assert tips == sorted(tips)
    assert tips[-1] < REFERENCE
