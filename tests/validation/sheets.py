"""Meshes and solves shared by the membrane's checks."""

from itertools import pairwise

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import spsolve

from firstpiece.forecasting.hoop_sheet import factor_sheet
from firstpiece.kernels.membrane import stiffness_rows


def plane_stress(stiffness, nu):
    shear = (1 - nu) / 2
    return stiffness / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, shear]])


def mapped_grid(n_s, n_t, place):
    """Nodes and elements of the unit square cut into n_s by n_t, carried over by ``place``."""
    s, t = np.meshgrid(np.linspace(0, 1, n_s + 1), np.linspace(0, 1, n_t + 1))
    nodes = np.column_stack(place(s.ravel(), t.ravel()))
    row, col = np.meshgrid(np.arange(n_t), np.arange(n_s), indexing="ij")
    first = (row * (n_s + 1) + col).ravel()
    quads = np.column_stack([first, first + 1, first + n_s + 2, first + n_s + 1])
    return np.ascontiguousarray(nodes), quads.astype(np.int64)


def everywhere(moduli, quads):
    return np.broadcast_to(moduli, (len(quads), 3, 3)).copy()


def full_stiffness(nodes, quads, moduli):
    free = np.arange(2 * len(nodes))
    data, columns, start = stiffness_rows(nodes, quads, moduli, free)
    return sp.csr_matrix((data, columns, start), shape=(len(free), len(free)))


def solve_given(nodes, quads, moduli, given, forces):
    """Displacements with some degrees of freedom given as {dof: value}."""
    matrix = full_stiffness(nodes, quads, moduli)
    moved = np.zeros(2 * len(nodes))
    held = np.array(sorted(given))
    moved[held] = [given[k] for k in held]
    rest = np.setdiff1d(np.arange(len(moved)), held)
    load = forces - matrix @ moved
    moved[rest] = spsolve(matrix[rest][:, rest].tocsc(), load[rest])
    return moved


def solve_held(nodes, quads, moduli, is_held, forces):
    return factor_sheet(nodes, quads, moduli, is_held).displacements(forces[None])[0]


def edge_forces(nodes, chain, pull):
    """Consistent nodal forces of a force per length ``pull(middle) -> (2,)`` on a chain."""
    forces = np.zeros(2 * len(nodes))
    for a, b in pairwise(chain):
        length = np.hypot(*(nodes[b] - nodes[a]))
        share = np.asarray(pull((nodes[a] + nodes[b]) / 2)) * length / 2
        for node in (a, b):
            forces[2 * node : 2 * node + 2] += share
    return forces


def fitted_order(sizes, errors):
    """Slope of log error against log element size."""
    return np.polyfit(np.log(sizes), np.log(errors), 1)[0]
