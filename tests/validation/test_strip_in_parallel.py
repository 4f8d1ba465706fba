"""A strip that wants to shrink, in parallel with one that does not: ε = ε*·k₁/(k₁ + k₂) (statics;
the limits are 0 and ε*). And a shrinking band in a clamped sheet: its edges come together by
ε*·W·(1 − W/H)."""

import numpy as np
import pytest
from tests.validation.sheets import everywhere, mapped_grid, plane_stress, solve_given, solve_held

from firstpiece.kernels.membrane import free_strain_forces

FREE = -0.02


@pytest.mark.parametrize(("stiff", "soft"), [(1.0, 1.0), (5.0, 1.0), (1.0, 9.0), (200.0, 0.1)])
def test_two_strips(stiff, soft):
    """Two layers in one sheet shrink by ε*·k₁/(k₁ + k₂)."""
    nodes, quads = mapped_grid(6, 2, lambda s, t: (30 * s, 10 * t))
    first, second = plane_stress(stiff, 0.0), plane_stress(soft, 0.0)
    force = np.broadcast_to(first @ [FREE, 0, 0], (1, len(quads), 3)).copy()
    loads = free_strain_forces(nodes, quads, force)[0]
    left = np.flatnonzero(nodes[:, 0] == 0)
    given = {int(2 * k): 0.0 for k in left} | {1: 0.0}
    moved = solve_given(nodes, quads, everywhere(first + second, quads), given, loads)
    right = np.flatnonzero(nodes[:, 0] == 30)
    expected = FREE * stiff / (stiff + soft) * 30
    np.testing.assert_allclose(moved[2 * right], expected, rtol=1e-9)


@pytest.mark.parametrize("width", [4.0, 12.0, 30.0])
def test_band_in_a_clamped_sheet(width):
    """A band of width W in a sheet of width H, held at both ends, closes by ε*·W·(1 − W/H)."""
    height = 60.0
    nodes, quads = mapped_grid(60, 1, lambda s, t: (height * s, t))
    moduli = plane_stress(1.0, 0.0)
    inside = np.abs(nodes[quads].mean(axis=1)[:, 0] - height / 2) < width / 2
    force = inside[:, None] * (moduli @ [FREE, 0, 0])
    loads = free_strain_forces(nodes, quads, force[None])[0]
    ends = (nodes[:, 0] == 0) | (nodes[:, 0] == height)
    moved = solve_held(nodes, quads, everywhere(moduli, quads), np.repeat(ends, 2), loads)
    low, high = (np.argmin(np.abs(nodes[:, 0] - (height + side * width) / 2)) for side in (-1, 1))
    closing = moved[2 * high] - moved[2 * low]
    assert closing == pytest.approx(FREE * width * (1 - width / height), rel=1e-9)
