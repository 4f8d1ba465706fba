"""A disc that shrinks inside a sheet of the same material, the nearest exact analogue of a sewn
patch that draws in: Eshelby 1957, Proc. R. Soc. A 241, 376; Timoshenko & Goodier, Theory of
Elasticity: strain inside (1 + ν)/2·ε*; clamped at R: × (1 − a²/R²)."""

import numpy as np
import pytest
from tests.validation.sheets import everywhere, fitted_order, mapped_grid, plane_stress, solve_held

from firstpiece.kernels.membrane import centre_strains, free_strain_forces

NU, FREE, DISC, RIM = 0.3, -0.01, 10.0, 60.0


def inside_strain(n):
    """Mean strain well inside a shrinking disc; a square raster, held outside the round rim."""
    nodes, quads = mapped_grid(n, n, lambda s, t: ((2 * s - 1) * RIM, (2 * t - 1) * RIM))
    moduli = plane_stress(1.0, NU)
    # The share of each element inside the disc, by 8 × 8 points.
    grid = (np.arange(8) + 0.5) / 8 - 0.5
    size = 2 * RIM / n
    centre = nodes[quads].mean(axis=1)
    at = centre[:, None, None] + size * np.stack(np.meshgrid(grid, grid), axis=-1)
    share = (np.hypot(at[..., 0], at[..., 1]) <= DISC).mean(axis=(1, 2))
    force = share[:, None] * (moduli @ [FREE, FREE, 0.0])
    loads = free_strain_forces(nodes, quads, force[None])[0]
    is_held = np.repeat(np.hypot(*nodes.T) >= RIM - 1e-9, 2)
    moved = solve_held(nodes, quads, everywhere(moduli, quads), is_held, loads)
    strains = centre_strains(nodes, quads, moved)
    return strains[np.hypot(*centre.T) < DISC / 2].mean(axis=0)


EXACT = (1 + NU) / 2 * FREE * (1 - (DISC / RIM) ** 2)


def test_strain_inside_the_disc():
    """The disc shrinks by 0.65 of its free strain, less the clamped rim's share (0.5 %)."""
    ex, ey, shear = inside_strain(120)
    assert ex == pytest.approx(EXACT, rel=0.005)
    assert ey == pytest.approx(EXACT, rel=0.005)
    assert shear == pytest.approx(0.0, abs=1e-3 * abs(EXACT))


def test_convergence_order():
    """The error falls at least with the first power of the element's size (a disc's edge cut by a
    square raster)."""
    sizes = (24, 48, 96)
    errors = [abs(inside_strain(n)[0] - EXACT) for n in sizes]
    assert fitted_order(1 / np.array(sizes), errors) > 0.9
