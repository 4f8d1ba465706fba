"""The cards: all shipped ones read, the shop's own laid over them, faults told by place."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from importlib.resources import files as package_files

import pytest

from firstpiece.errors import CardError
from firstpiece.files.material_card import CARD_FILES, CardDrawer
from firstpiece.model.measured import Certainty, Measured


def every_number(node, path=""):
    """Yield (path, table) of every number card in a TOML tree."""
    if isinstance(node, dict):
        if "value" in node:
            yield path, node
        for key, child in node.items():
            yield from every_number(child, f"{path}/{key}")


@pytest.mark.parametrize("kind", CARD_FILES)
def test_every_shipped_card_is_read(kind):
    drawer = CardDrawer()
    read = getattr(drawer, kind if kind == "prices" else kind.removesuffix("s"))
    for name in drawer.names(kind):
        assert read(name).label


def test_every_garment_makes_a_whole_set_up():
    drawer = CardDrawer()
    for name in drawer.names("garments"):
        setup = drawer.setup(name)
        assert setup.hoops, name
        sizes = [h.width_mm * h.height_mm for h in setup.hoops]
        assert sizes == sorted(sizes), f"{name}: the smallest hoop stands first"
        assert setup.garment.placement
        assert 0.3 <= setup.thread.laid_width_mm <= 0.5


@pytest.mark.parametrize("kind", CARD_FILES)
def test_every_number_has_band_unit_and_source(kind):
    text = (package_files("firstpiece") / "data" / f"{kind}.toml").read_text("utf-8")
    for path, number in every_number(tomllib.loads(text)):
        assert set(number) == {"value", "low", "high", "unit", "source"}, path
        assert number["low"] <= number["value"] <= number["high"], path
        assert number["source"].strip(), path


def test_the_default_garment_exists():
    drawer = CardDrawer()
    assert drawer.default_garment in drawer.names("garments")


def test_a_guess_counts_as_default_and_a_measurement_as_calibrated():
    assert Measured(1, 1, 1, "mm", "guess").certainty is Certainty.DEFAULT
    measured = Measured(1, 1, 1, "mm", "this shop, measured 3 May")
    assert measured.certainty is Certainty.CALIBRATED


def test_the_shops_own_card_replaces_the_shipped_one(tmp_path):
    (tmp_path / "hoops.toml").write_text(
        '[round-120]\nlabel = "Ours"\nwidth_mm = 118\nheight_mm = 118\nmargin_mm = 9\n'
        'is_round = true\n[tiny]\nlabel = "Tiny"\nwidth_mm = 60\nheight_mm = 60\nmargin_mm = 5\n'
    )
    drawer = CardDrawer(tmp_path)
    assert drawer.hoop("round-120").width_mm == 118
    assert drawer.hoop("tiny").label == "Tiny"
    assert drawer.hoop("round-180").label == CardDrawer().hoop("round-180").label


def test_prices_keep_their_coins():
    card = CardDrawer().prices()
    assert card.minimum_per_piece.amount == Decimal("4.50")
    assert str(card.minimum_per_piece.currency) == "GBP"
    assert all(0 <= b.discount < 1 for b in card.breaks)


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        ("hoops", "[a]\nlabel = ", "hoops.toml: the card file is not valid TOML"),
        ("hoops", '[a]\nlabel = "A"\nwidth_mm = 60\nheight_mm = 60\n', "“margin_mm” is missing"),
        ("hoops", '[a]\nlabel = "A"\nwidth_mm = 60\nheight_mm = 60\nmargin_mm = 5\nshine = 1\n',
         "“shine” is not an entry of this card"),
        ("fabrics", '[a]\nlabel = "A"\nweave = "lace"\n', "“lace” is not a kind of cloth"),
        ("backings", '[a]\nlabel = "A"\nweight = 80\nstiffness = 1\nremoval = "cut"\n'
         'sheet_cost_minor = 3\n', "a number needs value, low, high, unit and source"),
        ("garments", '[a]\nlabel = "A"\ncolor = "teal"\n', "“teal” is not a colour"),
        ("prices", '[a]\nlabel = "A"\ncurrency = "GBP"\n', "is missing or wrong"),
    ],
)  # fmt: skip
def test_a_wrong_card_is_told_by_its_place(tmp_path, kind, text, words):
    (tmp_path / f"{kind}.toml").write_text(text)

    def read():
        drawer = CardDrawer(tmp_path)
        getattr(drawer, kind if kind == "prices" else kind.removesuffix("s"))("a")

    with pytest.raises(CardError) as caught:
        read()
    assert words in str(caught.value)


def test_an_unknown_card_is_told_with_the_known_ones():
    with pytest.raises(CardError, match="there is no card “toga” among the garments; use one of:"):
        CardDrawer().setup("toga")
