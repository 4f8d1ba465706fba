"""Text that people type or paste: cleaned of what no table can carry, and the words it is found by.

Cleaning is idempotent: cleaned text stays as it is. The words are the same whatever database keeps
them, so that a search finds the same everywhere.
"""

from __future__ import annotations

import re
import unicodedata
from gettext import gettext as _

from firstpiece.errors import InputError

MOST_IN_LINE = 300
MOST_IN_TEXT = 20_000
LONGEST_WORD = 60
"""Longer runs of letters are cut: nobody types more to find something."""

_NOT_WORD = re.compile(r"[\W_]+")
_VULGAR = re.compile("[¼-¾⅐-⅞]")


def clean_line(text: str, *, where: str = "", most: int = MOST_IN_LINE) -> str:
    """Return text on one line, without control characters, with single spaces.

    Raises
    ------
    InputError
        When it is longer than ``most`` characters.
    """
    line = " ".join(_printable(text).split())
    return _checked(line, where, most)


def clean_text(text: str, *, where: str = "", most: int = MOST_IN_TEXT) -> str:
    r"""Return text whose lines end with ``\n`` alone, without other control characters.

    Raises
    ------
    InputError
        When it is longer than ``most`` characters.
    """
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = [_printable(line).rstrip() for line in plain.split("\n")]
    return _checked("\n".join(lines).strip("\n"), where, most)


def search_words(*texts: str) -> tuple[str, ...]:
    """Return the distinct words of texts in order of code point, caseless and without accents.

    Notes
    -----
    Caseless matching as in the Unicode Standard, section 3.13, definition D146: decomposed (NFKD),
    folded, decomposed again; combining marks (category Mn) are dropped besides, so that "café" and
    "cafe" are one word.
    """
    # A vulgar fraction would run together with the number before it: 3½ is not 31⁄2.
    apart = _VULGAR.sub(r" \g<0>", " ".join(texts))
    folded = _decompose(_decompose(apart).casefold())
    letters = "".join(c for c in folded if unicodedata.category(c) != "Mn")
    return tuple(sorted({word[:LONGEST_WORD] for word in _NOT_WORD.split(letters) if word}))


def _decompose(text: str) -> str:
    return unicodedata.normalize("NFKD", text)


def _printable(text: str) -> str:
    """Return text without control characters (tabs stay) and lone surrogates."""
    return "".join(c for c in text if c == "\t" or unicodedata.category(c) not in ("Cc", "Cs"))


def _checked(text: str, where: str, most: int) -> str:
    if len(text) > most:
        raise InputError(
            _("the text has {n} characters, more than {most}").format(n=len(text), most=most),
            where=where,
            remedy=_("shorten it"),
        )
    return text
