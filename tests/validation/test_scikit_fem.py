"""The same mesh, material and load solved by scikit-fem (Gustafsson & McBain 2020, J. Open Source
Softw. 5(52) 2369): stiffness matrix, displacements and energy."""

import numpy as np
import pytest
import skfem
from skfem.helpers import sym_grad
from tests.validation.sheets import full_stiffness, mapped_grid, solve_held

GENERATOR = np.random.default_rng(9)


def curved_case(n=14):
    """A skewed mesh whose orthotropic moduli vary from element to element."""
    nodes, quads = mapped_grid(
        n, n, lambda s, t: (10 * s + 1.5 * np.sin(2 * t), 8 * t + s * t + np.sin(3 * s) / 2)
    )
    roots = GENERATOR.normal(size=(len(quads), 3, 3))
    moduli = roots @ roots.transpose(0, 2, 1) + 0.5 * np.eye(3)
    return nodes, quads, moduli


def assembled(nodes, quads, moduli):
    mesh = skfem.MeshQuad(nodes.T.copy(), quads.T.copy())
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad1()), intorder=2)

    @skfem.BilinearForm
    def form(u, v, _w):
        strain, test = sym_grad(u), sym_grad(v)
        own = (strain[0, 0], strain[1, 1], 2 * strain[0, 1])
        other = (test[0, 0], test[1, 1], 2 * test[0, 1])
        return sum(moduli[:, i, j][:, None] * other[i] * own[j] for i in range(3) for j in range(3))

    return basis, form.assemble(basis)


def test_stiffness_matrix():
    """Every entry of the stiffness matrix agrees to round-off, nodes numbered as we do."""
    nodes, quads, moduli = curved_case()
    basis, theirs = assembled(nodes, quads, moduli)
    order = basis.nodal_dofs.T.ravel()
    ours = full_stiffness(nodes, quads, moduli)
    difference = abs(ours - theirs[order][:, order])
    assert difference.max() < 1e-12 * abs(ours).max()


def test_energy_and_displacements():
    """Displacements and energy of a random load agree to 1e-9."""
    nodes, quads, moduli = curved_case()
    basis, theirs = assembled(nodes, quads, moduli)
    is_held = np.repeat(nodes[:, 0] <= nodes[:, 0].min() + 2.0, 2)
    forces = np.where(is_held, 0.0, GENERATOR.normal(size=2 * len(nodes)))
    ours = solve_held(nodes, quads, moduli, is_held, forces)
    order = basis.nodal_dofs.T.ravel()
    load = np.zeros(len(order))
    load[order] = forces
    held = order[is_held]
    moved = skfem.solve(*skfem.condense(theirs, load, D=held))
    np.testing.assert_allclose(ours, moved[order], rtol=1e-9, atol=1e-12)
    assert ours @ forces == pytest.approx(moved @ load, rel=1e-9)
