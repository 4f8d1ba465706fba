"""Text as a whole job: from the typed line to its files, and what is refused."""

import pytest

from firstpiece.cli.letter_command import request_of_text
from firstpiece.errors import InputError, LengthError
from firstpiece.shop.cards import open_cards
from firstpiece.shop.letter import LetterRequest, letter_text, set_line, smallest_heights


def test_a_line_becomes_a_job_with_its_thread_and_size():
    made = letter_text(LetterRequest("Orchard", 12.0, color="poppy", radius_mm=50.0))
    assert [t.name for t in made.plan.threads] == ["poppy"]
    assert made.plan.n_stitches > 300
    assert made.plan.fewest_changes == 0
    assert not made.blocks_sewing
    assert made.size_mm[0] > made.size_mm[1] > 12.0


def test_small_text_is_told_with_the_height_that_will_do():
    made = letter_text(LetterRequest("Orchard", 4.0, garment="tee-black"))
    found = next(f for f in made.findings if f.code == "small-letters")
    again = letter_text(LetterRequest("Orchard", found.limit, garment="tee-black"))
    assert "small-letters" not in {f.code for f in again.findings}


def test_each_thread_has_its_smallest_height():
    made = letter_text(LetterRequest("Orchard", 12.0))
    heights = dict(
        smallest_heights(set_line(LetterRequest("Orchard", 12.0), made.setup), made.setup,
                         open_cards())
    )  # fmt: skip
    assert heights["poly-60"] < heights["poly-40"]


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"cap_height_mm": 3.0}, "3 mm high"),
        ({"cap_height_mm": 120.0}, "120 mm high"),
        ({"cap_height_mm": 12.0, "font": "Nobody Sans"}, "Nobody Sans"),
        ({"cap_height_mm": 12.0, "color": "no such thread"}, "no such thread"),
        ({"cap_height_mm": 12.0, "radius_mm": 5.0, "is_whole": True}, "circle"),
    ],
)
def test_what_cannot_be_set_is_refused_in_a_sentence(wish, words):
    with pytest.raises(InputError, match=words):
        letter_text(LetterRequest("Orchard volunteers and friends", **wish))


def test_the_command_needs_a_height():
    with pytest.raises(LengthError, match="capitals"):
        request_of_text("Orchard", {"caps": None})
