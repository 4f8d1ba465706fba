"""One character at the end of a code that shows when the code was mistyped or misread.

Letters and digits in, one of them out; the scheme is ISO/IEC 7064 MOD 37,36 (hybrid system for
alphanumeric strings with one check character). It sees every single wrong character.
"""

from __future__ import annotations

SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_M = 36


def check_character(text: str) -> str:
    """Return the check character of letters A–Z and digits.

    Raises
    ------
    ValueError
        When another character is in it.

    References
    ----------
    ISO/IEC 7064:2003, hybrid systems (recursive method; from memory).
    """
    product = _M
    for sign in text:
        total = (SIGNS.index(sign) + product) % _M or _M
        product = total * 2 % (_M + 1)
    return SIGNS[(_M + 1 - product) % _M]


def is_checked(text: str) -> bool:
    """Return whether a text of letters and digits ends with its check character."""
    return (
        len(text) > 1
        and all(sign in SIGNS for sign in text)
        and (check_character(text[:-1]) == text[-1])
    )
