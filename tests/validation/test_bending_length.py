"""Bending length: Peirce 1930, The handle of cloth as a measurable quantity, J. Text. Inst. 21,
T377: c/l = (cos(θ/2)/(8 tan θ))^⅓; ASTM D1388 (from memory): c is half the overhang at 41.5° and
flexural rigidity G = w·c³."""

import pytest

from firstpiece.forecasting.drape import GRAVITY, bending_length_mm, overhang_share


@pytest.mark.parametrize(("angle", "share"), [(41.5, 0.5093), (43.0, 0.4996), (7.1, 1.0005)])
def test_peirce_formula(angle, share):
    """The three worked values of the formula, to four decimals."""
    assert overhang_share(angle) == pytest.approx(share, abs=5e-5)


def test_half_length_rule():
    """The half-length rule at 41.5° is 1.9 % off its own formula."""
    assert overhang_share(41.5) / 0.5 == pytest.approx(1.019, abs=0.001)


def test_rigidity_of_a_tee():
    """187 g/m² with a bending length of 15 mm has 6.189 µN·m."""
    assert bending_length_mm(6.189e-6, 0.187) == pytest.approx(15.0, abs=0.002)
    rigidity = 0.187 * GRAVITY * 0.015**3
    assert rigidity == pytest.approx(6.189e-6, rel=1e-4)
