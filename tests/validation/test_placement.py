"""The placement table and size letters, held to body measurements and garment size steps.

Source: EN 13402-3:2005 bust intervals as coded in the R package Anthropometry (letters from
memory); ANSUR II (C. C. Gordon et al., 2014, NATICK/TR-15/007): hand breadth P5 of women 72 mm, P95
of men 96 mm; chest breadth 289.4 mm (men), 269.3 mm (women); suprasternale less chest height 147.5
± 18.0 mm (men), 158.1 ± 22.0 mm (women); chest girth mean 105.87 cm (men).
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from firstpiece.errors import CardError
from firstpiece.files.placement_table import read_placements
from firstpiece.model.placement import (
    CHEST_STEPS_CM,
    MEN_LETTERS_CM,
    WOMEN_LETTERS_CM,
    size_letter,
)

TABLE = read_placements()
FOUR_FINGERS_MM = (72, 96)


@pytest.mark.parametrize("size", ["", "XS", "S", "M", "L", "XL", "XXL", "3XL"])
def test_centre_front_lies_four_fingers_below_the_collar(size):
    """72 to 96 mm by whose hand it is: every size of the table lies in that span."""
    down = TABLE.find("tee", "centre-front").down(size)
    assert FOUR_FINGERS_MM[0] <= down.value <= FOUR_FINGERS_MM[1]
    assert (down.low, down.high) == FOUR_FINGERS_MM


def test_distances_never_shrink_with_size():
    """A larger letter is a larger chest, so no distance gets smaller."""
    for placement in TABLE.placements:
        for table in (placement.down_mm, placement.across_mm):
            sizes = [s for s in ("XS", "S", "M", "L", "XL", "XXL", "3XL") if s in table]
            values = [table[s].value for s in sizes]
            assert values == sorted(values)


def test_left_chest_lies_between_middle_line_and_side():
    """Half a chest is 145 mm wide in men, 135 mm in women: the mark's middle stays inside."""
    for kind in ("tee", "polo"):
        across = TABLE.find(kind, "left-chest").across("M")
        assert 0 < across.low <= across.value <= across.high < 269.3 / 2


def test_left_chest_lies_above_the_fullest_line():
    """The chest line lies 147 to 158 mm below the pit of the neck, and that below the shoulder."""
    down = TABLE.find("tee", "left-chest").down("M")
    assert down.value > 147.5


def test_letters_follow_the_steps():
    """Letters of one cut meet without a gap; their ends are steps of the standard as far as it."""
    for letters in (MEN_LETTERS_CM, WOMEN_LETTERS_CM):
        assert all(a[2] == b[1] for a, b in pairwise(letters))
    edges = {edge for _l, low, high in WOMEN_LETTERS_CM for edge in (low, high)}
    assert edges <= set(CHEST_STEPS_CM)
    assert {86, 94, 102} <= set(CHEST_STEPS_CM)


def test_the_mean_man_wears_l():
    """105.87 cm (n = 4082) falls into 102–110."""
    assert size_letter(105.87) == "L"
    assert size_letter(94.69, cut="women") == "M"
    assert size_letter(200) == ""


def test_the_table_of_a_shop_replaces_and_adds(tmp_path):
    """A shop's own placements.toml."""
    entry = '{ value = 60, low = 55, high = 65, unit = "mm", source = "this shop, measured" }'
    (tmp_path / "placements.toml").write_text(
        '[tee.hem]\nlabel = "Hem"\nsentence = "{down} above the hem."\n'
        f"[tee.hem.down]\nM = {entry}\n"
    )
    table = read_placements(tmp_path)
    assert table.find("tee", "Hem").words("m") == "60 mm above the hem."
    assert table.find("tee").place == "centre-front"
    with pytest.raises(CardError, match="no size “XXL”"):
        table.find("tee", "hem").words("XXL")
    (tmp_path / "placements.toml").write_text('[tee.hem]\nlabel = "Hem"\n')
    with pytest.raises(CardError, match="missing or wrong"):
        read_placements(tmp_path)
