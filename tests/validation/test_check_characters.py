"""Check characters of tickets, held to a published identifier and to another implementation.

Source: the Global Release Identifier's own example A1-2425G-ABC1234002-M, whose last letter is an
ISO/IEC 7064 MOD 37,36 check character (GRid standard, IFPI; from memory); the recursion of the
standard written out once more as its polynomial form.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.model.check_character import SIGNS, check_character, is_checked

texts = st.text(alphabet=SIGNS, min_size=1, max_size=24)


def standard_sum(text: str) -> int:
    """Return the left side of the standard's congruence P ≡ 1 (mod 36) for a whole text."""
    carried = 36
    for sign in text[:-1]:
        carried = (carried + SIGNS.index(sign)) % 36
        carried = (carried or 36) * 2 % 37
    return (carried + SIGNS.index(text[-1])) % 36


def test_published_identifier():
    """A12425GABC1234002 has the check character M."""
    assert check_character("A12425GABC1234002") == "M"
    assert is_checked("A12425GABC1234002M")


@given(texts)
def test_checked_texts_meet_the_congruence_of_the_standard(text):
    """A text with its check character sums to 1 modulo 36."""
    whole = text + check_character(text)
    assert standard_sum(whole) == 1
    assert is_checked(whole)


@given(texts, st.data())
def test_every_single_wrong_character_is_seen(text, data):
    """The standard promises that all single substitutions are found."""
    whole = text + check_character(text)
    at = data.draw(st.integers(0, len(whole) - 1))
    wrong = data.draw(st.sampled_from([s for s in SIGNS if s != whole[at]]))
    assert not is_checked(whole[:at] + wrong + whole[at + 1 :])


@pytest.mark.parametrize("text", ["", "A", "a12425gabc1234002m", "A1-2425G-ABC1234002-M"])
def test_what_is_no_checked_text(text):
    """Small letters and dashes are not part of a code; one sign alone has nothing to check."""
    assert not is_checked(text)
