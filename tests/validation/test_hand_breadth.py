"""Placement by size, held to hand breadths and to the steps of body sizes.

Sources: hand breadth of ANSUR II (Gordon et al. 2014, NATICK/TR-15/007, public data): women P5
72 mm, men P95 96 mm; EN 13402-3:2005 bust steps as coded in the R package Anthropometry.
"""

import pytest

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.placement_table import read_placements
from firstpiece.model.placement import CHEST_STEPS_CM
from firstpiece.paperwork.size_placement import (
    CHEST_CM,
    FOUR_FINGERS_MM,
    graded_distance_mm,
    size_growth,
)

SIZES = ("XS", "S", "M", "L", "XL", "XXL", "3XL")


def test_four_fingers_are_72_to_96_mm():
    assert FOUR_FINGERS_MM == (72.0, 96.0)


@pytest.mark.parametrize("name", ["tee-white", "sweat-moss"])
def test_a_distance_below_the_collar_is_one_that_four_fingers_span(name):
    """ANSUR II: whoever's hand it is, every size stays within 72 and 96 mm and never shrinks."""
    garment = CardDrawer().garment(name)
    found = [graded_distance_mm(garment, size) for size in SIZES]
    assert found == sorted(found)
    assert min(found) >= 72.0
    assert max(found) <= 96.0


def test_the_rule_and_the_placement_table_agree():
    garment = CardDrawer().garment("tee-white")
    place = read_placements().find("tee")
    for size in SIZES:
        assert graded_distance_mm(garment, size) == place.down(size).value


def test_letters_step_with_the_standard():
    """EN 13402-3: up to 102 cm every letter's edge is one of the bust edges."""
    edges = [v for low, high in CHEST_CM.values() for v in (low, high) if v <= 102]
    assert set(edges) <= set(CHEST_STEPS_CM)
    assert size_growth("M") == 1.0
    assert size_growth("2XL") == size_growth("XXL") == pytest.approx(247 / 196)
    assert size_growth("age 7") == 1.0
