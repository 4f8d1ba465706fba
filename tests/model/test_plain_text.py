"""Cleaning settles at once, and words are what a person would call the same."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.model.plain_text import clean_line, clean_text, search_words

ANY_TEXT = st.text(st.characters(codec=None), max_size=60)


@given(ANY_TEXT)
def test_cleaned_text_stays_as_it_is(text):
    for clean in (clean_line, clean_text):
        once = clean(text)
        assert clean(once) == once
        assert not {unicodedata.category(c) for c in once} & {"Cs"}
        assert "\x00" not in once
        assert "\r" not in once


def test_what_a_person_wrote_stays_readable():
    assert clean_line("  two\n lines\tand \x07 a bell ") == "two lines and a bell"
    assert clean_text("\r\none  \r\n\r\n  two\x00\rthree\n") == "one\n\n  two\nthree"


def test_text_without_end_is_refused():
    with pytest.raises(InputError, match="more than 300"):
        clean_line("x" * 301)


# Unicode Standard, section 3.13, and the German rule that ß is ss (from memory).
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Café CAFÉ cafe", ("cafe",)),
        ("Straße", ("strasse",)),
        ("ﬁne", ("fine",)),
        ("job #12, 3½ in", ("1", "12", "2", "3", "in", "job")),
        ("snake_case e-mail", ("case", "e", "mail", "snake")),
        ("ΣΊΣΥΦΟΣ", ("σισυφοσ",)),
        ("", ()),
        ("… — !", ()),
    ],
)
def test_words_are_found_however_they_are_written(text, words):
    assert search_words(text) == words


@given(ANY_TEXT)
def test_words_are_letters_and_digits_in_order_once(text):
    words = search_words(text)
    assert list(words) == sorted(set(words))
    assert all(not c.isspace() and c.isalnum() for word in words for c in word if c.isascii())
    assert search_words(" ".join(words)) == words
