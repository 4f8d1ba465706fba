"""Limits of the Kubelka–Munk layer (Kubelka & Munk 1931, Z. techn. Physik 12, 593; Kubelka 1948,
J. Opt. Soc. Am. 38, 448) and of the slot between threads (crossed strings, Hottel 1954).
"""

import numpy as np
import pytest

from firstpiece.forecasting.show_through import gap_reflectance, layer_reflectance

GROUNDS = np.array([0.02, 0.3, 0.9])


def test_no_layer_leaves_the_ground():
    """SX = 0 and SX → 0 give the ground's own reflectance."""
    solid = np.array([0.6, 0.6, 0.6])
    np.testing.assert_array_equal(layer_reflectance(solid, GROUNDS, 0.0), GROUNDS)
    np.testing.assert_allclose(layer_reflectance(solid, GROUNDS, 1e-7), GROUNDS, atol=1e-6)


def test_thick_layer_is_solid():
    """SX → ∞ gives R∞ whatever lies below."""
    solid = np.array([0.1, 0.5, 0.9])
    np.testing.assert_allclose(layer_reflectance(solid, GROUNDS, 200.0), solid, atol=1e-9)


@pytest.mark.parametrize("power", [0.1, 1.0, 2.7, 10.0])
def test_no_absorption_over_black(power):
    """Without absorption a layer over black reflects SX/(1 + SX)."""
    nearly_white = np.array([1.0 - 1e-6])
    assert layer_reflectance(nearly_white, np.array([0.0]), power)[0] == pytest.approx(
        power / (1.0 + power), abs=2e-5
    )


def test_hand_case():
    """R∞ = 0.5 means K/S = (1 − R)²/2R = 0.25, a = 1.25, b = 0.75; over black at SX = 1 the layer
    reflects sinh(0.75)/(1.25·sinh(0.75) + 0.75·cosh(0.75))."""
    sinh, cosh = np.sinh(0.75), np.cosh(0.75)
    by_hand = sinh / (1.25 * sinh + 0.75 * cosh)
    assert layer_reflectance(np.array([0.5]), np.array([0.0]), 1.0)[0] == pytest.approx(by_hand)


def test_two_layers_are_one_of_double_power():
    """A layer over the same layer is a layer of twice the power (the theory's semigroup)."""
    solid = np.array([0.1, 0.5, 0.9])
    once = layer_reflectance(solid, GROUNDS, 1.3)
    np.testing.assert_allclose(
        layer_reflectance(solid, once, 0.9), layer_reflectance(solid, GROUNDS, 2.2), rtol=1e-10
    )


def test_slot_limits():
    """A flat gap shows the floor; all white shows white; black walls leave floor · F with
    F = √(1 + H²) − H (H is depth over width)."""
    floor = np.array([0.2, 0.8])
    np.testing.assert_allclose(gap_reflectance(floor, floor, 0.0), floor)
    white = np.array([1.0])
    np.testing.assert_allclose(gap_reflectance(white, white, 0.7), white, rtol=1e-9)
    opening = np.sqrt(1 + 0.7**2) - 0.7
    np.testing.assert_allclose(gap_reflectance(floor, np.zeros(2), 0.7), floor * opening)


def test_slot_against_traced_light():
    """The slot's floor agrees with diffuse light traced by Monte Carlo (own check, 1 %)."""
    floor, wall, depth = 0.7, 0.4, 0.8
    generator = np.random.default_rng(5)
    n = 200_000
    # Light arrives through the opening; count what the floor sends out, over what flat white would.
    weight = np.ones(n)
    received = np.zeros(n)
    x, y = generator.uniform(0, 1, n), np.full(n, depth)
    # Lambert emission in a plane: sine of the angle to the normal is even in −1..1.
    sine = generator.uniform(-1, 1, n)
    dx, dy = sine, -np.sqrt(1 - sine**2)
    alive = np.ones(n, dtype=bool)
    for _ in range(60):
        with np.errstate(divide="ignore", invalid="ignore"):
            side = np.where(dx > 0, (1 - x) / dx, np.where(dx < 0, -x / dx, np.inf))
            level = np.where(dy < 0, -y / dy, np.where(dy > 0, (depth - y) / dy, np.inf))
        hits_side = alive & (side < level)
        hits_floor = alive & ~hits_side & (dy < 0)
        alive &= hits_side | hits_floor
        if not alive.any():
            break
        step = np.where(hits_side, side, np.where(hits_floor, level, 0.0))
        x, y = np.clip(x + step * dx, 0, 1), np.clip(y + step * dy, 0, depth)
        received[hits_floor] += weight[hits_floor]
        weight[hits_floor] *= floor
        weight[hits_side] *= wall
        sine = generator.uniform(-1, 1, n)
        cosine = np.sqrt(1 - sine**2)
        right = np.where(x > 0.5, -1.0, 1.0)
        dx = np.where(hits_side, right * cosine, sine)
        dy = np.where(hits_side, sine, cosine)
    traced = floor * received.mean()
    assert gap_reflectance(np.array([floor]), np.array([wall]), depth)[0] == pytest.approx(
        traced, rel=0.01
    )
