"""Patch test of the plane element: MacNeal & Harder 1985, A proposed standard set of problems to
test finite element accuracy, Finite Elements in Analysis and Design 1, 3–20: plate 0.24 × 0.12,
E 1e6, ν 0.25, u = 1e-3·(x + y/2), v = 1e-3·(y + x/2): σx = σy = 1333.33, τ = 400 (stresses follow
from the formula; inner nodes from memory)."""

import numpy as np
from tests.validation.sheets import everywhere, plane_stress, solve_given

from firstpiece.kernels.membrane import centre_strains

NODES = np.array(
    [(0, 0), (0.24, 0), (0.24, 0.12), (0, 0.12), (0.04, 0.02), (0.18, 0.03), (0.16, 0.08),
     (0.08, 0.08)]
)  # fmt: skip
QUADS = np.array([(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (4, 5, 6, 7)])


def patch():
    moduli = plane_stress(1e6, 0.25)
    field = np.column_stack([NODES @ [1.0, 0.5], NODES @ [0.5, 1.0]]) * 1e-3
    given = {2 * n + k: field[n, k] for n in range(4) for k in range(2)}
    moved = solve_given(NODES, QUADS, everywhere(moduli, QUADS), given, np.zeros(16))
    return moduli, field, moved


def test_stresses_are_even():
    """Every element of the distorted patch has the printed stresses, to round-off."""
    moduli, _, moved = patch()
    stress = centre_strains(NODES, QUADS, moved) @ moduli
    np.testing.assert_allclose(stress, np.tile([4000 / 3, 4000 / 3, 400], (5, 1)), rtol=1e-9)


def test_inner_nodes_move_with_the_field():
    """The four inner nodes take the linear field's displacements, to round-off."""
    _, field, moved = patch()
    np.testing.assert_allclose(moved.reshape(-1, 2), field, atol=1e-15)
