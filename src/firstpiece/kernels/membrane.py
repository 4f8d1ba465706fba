"""Plane elasticity on four-node elements: stiffness matrices, forces of free strain, displacements.

Input: nodes, elements and moduli per element. Output: compressed rows of the stiffness matrix over
the free degrees of freedom, nodal forces, strains. Degree 2i is node i's x, 2i + 1 its y.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray

GAUSS = 1.0 / math.sqrt(3.0)


@njit(cache=True)
def _slopes(corners: NDArray[np.float64], s: float, t: float, out: NDArray[np.float64]) -> float:
    """Fill (2, 4) slopes of the four shape functions in x and y; return the area factor.

    The bilinear isoparametric element (Irons 1966; Hughes 1987, The Finite Element Method, ch. 3).
    """
    j00 = j01 = j10 = j11 = 0.0
    for a in range(4):
        sa = -1.0 if a in (0, 3) else 1.0
        ta = -1.0 if a < 2 else 1.0
        ds, dt = sa * (1.0 + ta * t) / 4.0, ta * (1.0 + sa * s) / 4.0
        out[0, a], out[1, a] = ds, dt
        j00 += ds * corners[a, 0]
        j01 += ds * corners[a, 1]
        j10 += dt * corners[a, 0]
        j11 += dt * corners[a, 1]
    area = j00 * j11 - j01 * j10
    for a in range(4):
        ds, dt = out[0, a], out[1, a]
        out[0, a] = (j11 * ds - j01 * dt) / area
        out[1, a] = (j00 * dt - j10 * ds) / area
    return area


@njit(cache=True)
def _add_gauss_point(
    slopes: NDArray[np.float64],
    moduli: NDArray[np.float64],
    weight: float,
    out: NDArray[np.float64],
) -> None:
    """Add weight · Bᵀ D B of one integration point to an (8, 8) matrix."""
    for a in range(4):
        xa, ya = slopes[0, a], slopes[1, a]
        for i in range(3):
            # Row 2a of Bᵀ is (x, 0, y), row 2a + 1 is (0, y, x).
            du = weight * (xa * moduli[0, i] + ya * moduli[2, i])
            dv = weight * (ya * moduli[1, i] + xa * moduli[2, i])
            for b in range(4):
                xb, yb = slopes[0, b], slopes[1, b]
                if i == 0:
                    out[2 * a, 2 * b] += du * xb
                    out[2 * a + 1, 2 * b] += dv * xb
                elif i == 1:
                    out[2 * a, 2 * b + 1] += du * yb
                    out[2 * a + 1, 2 * b + 1] += dv * yb
                else:
                    out[2 * a, 2 * b] += du * yb
                    out[2 * a, 2 * b + 1] += du * xb
                    out[2 * a + 1, 2 * b] += dv * yb
                    out[2 * a + 1, 2 * b + 1] += dv * xb


@njit(cache=True)
def element_stiffness(
    corners: NDArray[np.float64], moduli: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the (8, 8) stiffness matrix of one element, by 2 × 2 Gauss points.

    Parameters
    ----------
    corners : (4, 2) float64 [mm]
        Anticlockwise.
    moduli : (3, 3) float64 [N/mm]
        Force per width from the strains εx, εy, γxy.
    """
    matrix = np.zeros((8, 8))
    slopes = np.empty((2, 4))
    for i in range(2):
        for j in range(2):
            area = _slopes(corners, GAUSS * (2 * i - 1), GAUSS * (2 * j - 1), slopes)
            _add_gauss_point(slopes, moduli, area, matrix)
    return matrix


@njit(cache=True)
def _elements_of_nodes(
    quads: NDArray[np.int64], n_nodes: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    start = np.zeros(n_nodes + 1, dtype=np.int64)
    for e in range(quads.shape[0]):
        for a in range(4):
            start[quads[e, a] + 1] += 1
    start = np.cumsum(start)
    place = start[:-1].copy()
    corner = np.empty(start[-1], dtype=np.int64)
    for e in range(quads.shape[0]):
        for a in range(4):
            node = quads[e, a]
            corner[place[node]] = 4 * e + a
            place[node] += 1
    return start, corner


@njit(cache=True)
def _near_nodes(
    quads: NDArray[np.int64],
    corners: NDArray[np.int64],
    mark: NDArray[np.int64],
    near: NDArray[np.int64],
) -> int:
    """Fill ``near`` with the nodes of these elements in rising order, ``mark`` with their place."""
    count = 0
    for corner in corners:
        for a in range(4):
            node = quads[corner // 4, a]
            if mark[node] < 0:
                mark[node] = 0
                near[count] = node
                count += 1
    near[:count].sort()
    for k in range(count):
        mark[near[k]] = k
    return count


@njit(cache=True)
def _all_stiffness(
    nodes_mm: NDArray[np.float64], quads: NDArray[np.int64], moduli: NDArray[np.float64]
) -> NDArray[np.float64]:
    stiffness = np.empty((quads.shape[0], 8, 8))
    points = np.empty((4, 2))
    for e in range(quads.shape[0]):
        for a in range(4):
            points[a] = nodes_mm[quads[e, a]]
        stiffness[e] = element_stiffness(points, moduli[e])
    return stiffness


@njit(cache=True)
def _sum_rows(
    quads: NDArray[np.int64],
    corners: NDArray[np.int64],
    stiffness: NDArray[np.float64],
    mark: NDArray[np.int64],
    rows: NDArray[np.float64],
) -> None:
    """Add up the two matrix rows of one node over the elements round it."""
    rows[:] = 0.0
    for corner in corners:
        e, a = corner // 4, corner % 4
        for b in range(4):
            place = 2 * mark[quads[e, b]]
            for side in range(2):
                rows[side, place] += stiffness[e, 2 * a + side, 2 * b]
                rows[side, place + 1] += stiffness[e, 2 * a + side, 2 * b + 1]


@njit(cache=True)
def stiffness_rows(
    nodes_mm: NDArray[np.float64],
    quads: NDArray[np.int64],
    moduli: NDArray[np.float64],
    free: NDArray[np.int64],
) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.int32]]:
    """Return the stiffness matrix over the free degrees of freedom in compressed rows.

    Parameters
    ----------
    nodes_mm : (n, 2) float64 [mm]
    quads : (m, 4) int64
        Corners of each element, anticlockwise.
    moduli : (m, 3, 3) float64 [N/mm]
        Symmetric.
    free : (2n,) int64
        Number of each degree of freedom in the matrix, rising, or -1 when it is held.

    Returns
    -------
    data : (k,) float64 [N/mm]
    columns : (k,) int32
        Rising in each row.
    start : (r + 1,) int32

    Notes
    -----
    Row by row over the elements round each node, so nothing is sorted or summed afterwards.
    """
    n_nodes = nodes_mm.shape[0]
    start_of, corner_of = _elements_of_nodes(quads, n_nodes)
    stiffness = _all_stiffness(nodes_mm, quads, moduli)
    # Each element round a node brings at most three other nodes.
    reach = 3 * np.diff(start_of) + 1
    most, widest = int(4 * reach.sum()), int(reach.max()) if n_nodes else 0
    data, columns = np.empty(most), np.empty(most, dtype=np.int32)
    start = np.zeros(np.count_nonzero(free >= 0) + 1, dtype=np.int32)
    mark = np.full(n_nodes, -1, dtype=np.int64)
    near, rows = np.empty(widest, dtype=np.int64), np.empty((2, 2 * widest))
    filled = 0
    for node in range(n_nodes):
        corners = corner_of[start_of[node] : start_of[node + 1]]
        count = _near_nodes(quads, corners, mark, near)
        _sum_rows(quads, corners, stiffness, mark, rows)
        for side in range(2):
            if free[2 * node + side] < 0:
                continue
            for k in range(2 * count):
                column = free[2 * near[k // 2] + k % 2]
                if column >= 0:
                    data[filled], columns[filled] = rows[side, k], column
                    filled += 1
            start[free[2 * node + side] + 1] = filled
        mark[near[:count]] = -1
    return data[:filled].copy(), columns[:filled].copy(), start


@njit(cache=True)
def free_strain_forces(
    nodes_mm: NDArray[np.float64], quads: NDArray[np.int64], force: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the nodal forces ∫ Bᵀ N* of forces per width N* that are even in each element.

    Parameters
    ----------
    nodes_mm : (n, 2) float64 [mm]
    quads : (m, 4) int64
    force : (b, m, 3) float64 [N/mm]
        For each of b load cases: D ε* of a free strain ε*.

    Returns
    -------
    (b, 2n) float64 [N]
    """
    forces = np.zeros((force.shape[0], 2 * nodes_mm.shape[0]))
    points, slopes, sums = np.empty((4, 2)), np.empty((2, 4)), np.empty((2, 4))
    for e in range(quads.shape[0]):
        loaded = False
        for case in range(force.shape[0]):
            loaded = loaded or force[case, e].any()
        if not loaded:
            continue
        for a in range(4):
            points[a] = nodes_mm[quads[e, a]]
        sums[:] = 0.0
        for i in range(2):
            for j in range(2):
                area = _slopes(points, GAUSS * (2 * i - 1), GAUSS * (2 * j - 1), slopes)
                sums += area * slopes
        for case in range(force.shape[0]):
            nx, ny, nxy = force[case, e]
            for a in range(4):
                node = quads[e, a]
                forces[case, 2 * node] += sums[0, a] * nx + sums[1, a] * nxy
                forces[case, 2 * node + 1] += sums[1, a] * ny + sums[0, a] * nxy
    return forces


@njit(cache=True)
def centre_strains(
    nodes_mm: NDArray[np.float64], quads: NDArray[np.int64], moved_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the strains at the centre of each element.

    Parameters
    ----------
    nodes_mm : (n, 2) float64 [mm]
    quads : (m, 4) int64
    moved_mm : (2n,) float64 [mm]
        Displacements.

    Returns
    -------
    (m, 3) float64
        εx, εy, γxy.
    """
    strains = np.empty((quads.shape[0], 3))
    points, slopes = np.empty((4, 2)), np.empty((2, 4))
    for e in range(quads.shape[0]):
        for a in range(4):
            points[a] = nodes_mm[quads[e, a]]
        _slopes(points, 0.0, 0.0, slopes)
        ex = ey = shear = 0.0
        for a in range(4):
            u, v = moved_mm[2 * quads[e, a]], moved_mm[2 * quads[e, a] + 1]
            ex += slopes[0, a] * u
            ey += slopes[1, a] * v
            shear += slopes[1, a] * u + slopes[0, a] * v
        strains[e, 0], strains[e, 1], strains[e, 2] = ex, ey, shear
    return strains
