"""Stiffness rows, free-strain forces and smeared thread against plain numpy."""

import numpy as np
import scipy.sparse as sp
from tests.validation.sheets import full_stiffness, mapped_grid

from firstpiece.kernels.membrane import (
    centre_strains,
    element_stiffness,
    free_strain_forces,
    stiffness_rows,
)
from firstpiece.kernels.thread_smear import read_field, smear_thread

GENERATOR = np.random.default_rng(4)
CORNERS = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])


def slopes_slowly(corners, s, t):
    local = np.array(
        [CORNERS[:, 0] * (1 + CORNERS[:, 1] * t), CORNERS[:, 1] * (1 + CORNERS[:, 0] * s)]
    )
    jacobian = local / 4 @ corners
    return np.linalg.solve(jacobian, local / 4), np.linalg.det(jacobian)


def strain_matrix(slopes):
    b = np.zeros((3, 8))
    b[0, ::2], b[1, 1::2] = slopes[0], slopes[1]
    b[2, ::2], b[2, 1::2] = slopes[1], slopes[0]
    return b


def gauss_points(corners):
    for s in (-1, 1):
        for t in (-1, 1):
            slopes, area = slopes_slowly(corners, s / np.sqrt(3), t / np.sqrt(3))
            yield strain_matrix(slopes), area


def some_case():
    nodes, quads = mapped_grid(4, 3, lambda s, t: (5 * s + t * t, 3 * t + 0.4 * np.sin(4 * s)))
    roots = GENERATOR.normal(size=(len(quads), 3, 3))
    return nodes, quads, roots @ roots.transpose(0, 2, 1)


def test_element_stiffness():
    nodes, quads, moduli = some_case()
    for quad, d in zip(quads, moduli, strict=True):
        expected = sum(b.T @ d @ b * area for b, area in gauss_points(nodes[quad]))
        np.testing.assert_allclose(element_stiffness(nodes[quad], d), expected, atol=1e-12)


def test_rows_are_the_sum_of_the_elements():
    nodes, quads, moduli = some_case()
    dense = np.zeros((2 * len(nodes), 2 * len(nodes)))
    for quad, d in zip(quads, moduli, strict=True):
        dofs = (2 * quad[:, None] + [0, 1]).ravel()
        dense[np.ix_(dofs, dofs)] += element_stiffness(nodes[quad], d)
    np.testing.assert_allclose(full_stiffness(nodes, quads, moduli).toarray(), dense, atol=1e-12)
    held = GENERATOR.random(2 * len(nodes)) < 0.3
    free = np.cumsum(~held) - 1
    free[held] = -1
    data, columns, start = stiffness_rows(nodes, quads, moduli, free)
    np.testing.assert_allclose(
        sp.csr_matrix((data, columns, start)).toarray(), dense[~held][:, ~held], atol=1e-12
    )
    for row in range(len(start) - 1):
        assert (np.diff(columns[start[row] : start[row + 1]]) > 0).all()


def test_forces_of_free_strain():
    nodes, quads, _ = some_case()
    force = GENERATOR.normal(size=(2, len(quads), 3))
    expected = np.zeros((2, 2 * len(nodes)))
    for case in range(2):
        for quad, n in zip(quads, force[case], strict=True):
            dofs = (2 * quad[:, None] + [0, 1]).ravel()
            expected[case, dofs] += sum(b.T @ n * area for b, area in gauss_points(nodes[quad]))
    np.testing.assert_allclose(free_strain_forces(nodes, quads, force), expected, atol=1e-12)


def test_strains_of_an_even_field():
    nodes, quads, _ = some_case()
    moved = np.column_stack([nodes @ [0.01, 0.02], nodes @ [-0.03, 0.04]]).ravel()
    strains = centre_strains(nodes, quads, moved)
    np.testing.assert_allclose(strains, np.tile([0.01, 0.04, -0.01], (len(quads), 1)), atol=1e-14)


def test_empty_meshes():
    nothing = np.zeros((0, 2)), np.zeros((0, 4), np.int64)
    data, columns, start = stiffness_rows(*nothing, np.zeros((0, 3, 3)), np.zeros(0, np.int64))
    assert (data.size, columns.size, start.tolist()) == (0, 0, [0])
    assert free_strain_forces(*nothing, np.zeros((1, 0, 3))).shape == (1, 0)
    assert centre_strains(*nothing, np.zeros(0)).shape == (0, 3)


def smear_slowly(segments, strain, case, shape, n_cases):
    stiffness = np.zeros((*shape, 3, 3))
    force = np.zeros((n_cases, *shape, 3))
    for (x0, y0, x1, y1), e, b in zip(segments, strain, case, strict=True):
        length = np.hypot(x1 - x0, y1 - y0)
        c, s = (x1 - x0) / length, (y1 - y0) / length
        n = np.array([c * c, s * s, c * s])
        for along in (np.arange(4000) + 0.5) / 4000:
            row, col = int(y0 + along * (y1 - y0)), int(x0 + along * (x1 - x0))
            stiffness[row, col] += length / 4000 * np.outer(n, n)
            force[b, row, col] += length / 4000 * e * n
    return stiffness.reshape(-1, 3, 3), force.reshape(n_cases, -1, 3)


def test_thread_is_smeared_over_its_elements():
    segments = GENERATOR.uniform(0.2, 5.8, (12, 4))
    strain, case = GENERATOR.normal(size=12), GENERATOR.integers(0, 3, 12)
    stiffness, force = smear_thread(segments, strain, case, (6, 6), 3)
    slow, slow_force = smear_slowly(segments, strain, case, (6, 6), 3)
    # Each element sees a piece's length to a quarter of an element.
    np.testing.assert_allclose(stiffness, slow, atol=0.5)
    np.testing.assert_allclose(stiffness.sum(axis=0), slow.sum(axis=0), rtol=1e-9)
    np.testing.assert_allclose(force.sum(axis=1), slow_force.sum(axis=1), rtol=1e-9)
    assert np.abs(force - slow_force).max() < 0.5 * np.abs(strain).max()


def test_thread_off_the_raster_and_none_at_all():
    away = np.array([[-3.0, -3.0, -1.0, -1.0], [2.0, 2.0, 2.0, 2.0]])
    stiffness, force = smear_thread(away, np.ones(2), np.zeros(2, np.int64), (4, 4), 1)
    assert not stiffness.any()
    assert not force.any()
    none = smear_thread(np.zeros((0, 4)), np.zeros(0), np.zeros(0, np.int64), (2, 3), 1)
    assert none[0].shape == (6, 3, 3)


def test_fields_are_read_bilinearly_and_held_at_the_rim():
    x, y = np.meshgrid(np.arange(5.0), np.arange(4.0))
    field = np.stack([2 * x - y + x * y, x + 3 * y], axis=-1)[None]
    points = GENERATOR.uniform(0, 3, (40, 2)) * [4 / 3, 1]
    read = read_field(points, np.zeros(40, np.int64), field)
    px, py = points.T
    np.testing.assert_allclose(read, np.column_stack([2 * px - py + px * py, px + 3 * py]))
    outside = read_field(np.array([[9.0, -4.0]]), np.zeros(1, np.int64), field)
    np.testing.assert_allclose(outside, field[:, 0, 4])
    assert read_field(np.zeros((0, 2)), np.zeros(0, np.int64), field).shape == (0, 2)
