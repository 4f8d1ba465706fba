"""Mixing of covered and bare shares: Murray 1936, J. Franklin Inst. 221, 721 (as given in a history
page: a = 0.5, solid density 1.5 reads 0.28751); the same as reflectances by hand.
"""

import numpy as np
import pytest

from firstpiece.forecasting.show_through import SewnTexture, sewn_reflectance

# So thick that one layer is solid, and gaps so wide that their walls do not shade them.
OPEN = {"gap_mm": 1e6, "thread_height_mm": 0.1, "layer_mass": 1.0}


def mixed(solid, ground, share):
    texture = SewnTexture((1.0 - share, share), **OPEN)
    return sewn_reflectance(np.array([solid]), np.array([ground]), texture, 1e4)[0]


def test_density_form():
    """a = 0.5 and a solid density of 1.5 on paper of density 0 give 0.28751."""
    assert -np.log10(mixed(10**-1.5, 1.0, 0.5)) == pytest.approx(0.28751, abs=2e-5)


def test_two_densities_by_hand():
    """Densities 1.2 seen and 1.5 solid mean a share of 0.9675."""
    share = (1 - 10**-1.2) / (1 - 10**-1.5)
    assert share == pytest.approx(0.9675, abs=5e-5)
    assert -np.log10(mixed(10**-1.5, 1.0, share)) == pytest.approx(1.2, abs=1e-4)


def test_reflectance_form():
    """a = 0.5, ground 0.80, solid 0.05 give 0.4250 (linear light, not sRGB codes)."""
    assert mixed(0.05, 0.80, 0.5) == pytest.approx(0.4250, abs=1e-6)


def test_yule_nielsen_is_not_used():
    """Yule and Nielsen 1951, TAGA Proc. 3, 65: with n = 2 the same case gives 5/16; this model is
    the case n = 1 and must stay above it."""
    n_is_two = (0.5 * 0.05**0.5 + 0.5 * 0.80**0.5) ** 2
    assert n_is_two == pytest.approx(5 / 16)
    assert mixed(0.05, 0.80, 0.5) > n_is_two + 0.1
