"""Measured cloth: Wang, O'Brien & Ramamoorthi 2011, Data-Driven Elastic Models for Cloth, ACM
Trans. Graph. 30(4) (first rows of their open table, spans of the rest): T-shirt interlock 187 g/m²,
16.6 to 140 N/m across, 34.5 to 414 along, shear 36.9, bend 23.2/24.7/14.3 µN·m; trouser cloth
2016.6 × 2035.0, shear 104.8, bend 125.4/108.0/125.4."""

import numpy as np
import pytest

from firstpiece.files.material_card import CardDrawer
from firstpiece.forecasting.cloth_sheet import stiffened
from firstpiece.forecasting.drape import bending_length_mm

DRAWER = CardDrawer()


def test_the_jersey_card_lies_inside_the_t_shirt_cloth():
    """Stretch, shear and bend of the jersey card lie inside the measured T-shirt cloth's spans."""
    jersey = DRAWER.fabric("jersey")
    assert 16.6 <= jersey.stretch_across.low <= jersey.stretch_across.high <= 140
    assert 33.9 <= jersey.stretch_along.low <= jersey.stretch_along.high <= 414
    assert jersey.shear.value == pytest.approx(36.9)
    assert 14.3 <= jersey.bend.value <= 24.7


def test_the_knit_stiffens_as_measured():
    """Tangents rise 8 to 12 times over the table (16.6 to 140 and 34.5 to 414 N/m), woven cards
    stay as they are."""
    measured = sorted((140 / 16.6, 414 / 34.5))
    jersey, twill = DRAWER.fabric("jersey"), DRAWER.fabric("twill")
    assert measured[0] <= jersey.stiffening.value <= measured[1]
    end = stiffened(jersey, np.array([-0.2, 0.0, 0.15, 0.3, 0.9]))
    assert end[:2].tolist() == [1.0, 1.0]
    assert end[3] == end[4] == pytest.approx(jersey.stiffening.value)
    assert end[1] < end[2] < end[3]
    assert stiffened(twill, np.array([0.3])).tolist() == [1.0]


def test_the_twill_card_is_the_trouser_cloth():
    """Stretch (read as a lower end), shear and bend of the twill card are the trouser cloth's."""
    twill = DRAWER.fabric("twill")
    assert twill.stretch_along.value == pytest.approx(2016.6, rel=0.001)
    assert twill.stretch_across.value == pytest.approx(2035.0, rel=0.001)
    assert twill.shear.value == pytest.approx(104.8)
    assert 108.0 <= twill.bend.value <= 125.4


def test_trousers_hang_stiffer_than_a_tee():
    """Bending lengths from the measured bend and mass: trouser cloth (125.4 µN·m, 220 g/m²) above
    the T-shirt (23.2, 187)."""
    tee, trousers = bending_length_mm(23.2e-6, 0.187), bending_length_mm(125.4e-6, 0.220)
    assert tee == pytest.approx(23.3, abs=0.1)
    assert trousers > 1.6 * tee
