"""Bending of layered sheets: the parallel-axis identity (statics: two glued halves bend like the
whole, B = E·h³/12; sliding ones like a quarter of it); strength of the layer model: Kim, Inui &
Takatera 2012, Text. Res. J. 82(4) (abstract)."""

import pytest

from firstpiece.forecasting.drape import Layer, laminate_bend

MODULUS, THICK = 1e6, 1e-3


def slab(thickness):
    return Layer(MODULUS * thickness**3 / 12, MODULUS * thickness, thickness, 1.0)


@pytest.mark.parametrize("parts", [2, 3, 5])
def test_glued_parts_are_the_whole(parts):
    """A sheet cut into equal layers and glued bends like the sheet, to round-off."""
    layers = [slab(THICK / parts)] * parts
    assert laminate_bend(layers, 1.0) == pytest.approx(slab(THICK).bend, rel=1e-12)


@pytest.mark.parametrize("parts", [2, 4])
def test_sliding_parts_bend_with_the_square(parts):
    """n sliding layers bend with 1/n² of the whole."""
    layers = [slab(THICK / parts)] * parts
    assert laminate_bend(layers, 0.0) == pytest.approx(slab(THICK).bend / parts**2, rel=1e-12)


def test_unequal_layers():
    """A stiff skin on a soft core: by hand, N 1000 at 0.05 mm and 10 at 0.6 mm."""
    skin, core = Layer(1e-6, 1000.0, 1e-4, 0.1), Layer(2e-6, 10.0, 1e-3, 0.1)
    centre = (1000 * 0.05e-3 + 10 * 0.6e-3) / 1010
    by_hand = 3e-6 + 1000 * (0.05e-3 - centre) ** 2 + 10 * (0.6e-3 - centre) ** 2
    assert laminate_bend([skin, core], 1.0) == pytest.approx(by_hand, rel=1e-12)
