"""What a person typed into a form of the shop's pages, read field by field.

Input: the fields and files of one POST. Output: texts, whole numbers, days and files, or one
sentence about the first that cannot be used.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from gettext import gettext as _
from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request
from starlette.datastructures import UploadFile

from firstpiece.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

LONGEST_TEXT = 20_000
MOST_DIGITS = 9


class Words(dict[str, str]):
    """Texts by name, empty where nothing was typed, so that templates may ask for any of them."""

    def __missing__(self, name: str) -> str:
        """Return the empty text."""
        return ""


@dataclass(frozen=True, slots=True)
class Typed:
    """The fields of a form by name; what is not there is empty."""

    words: Words = field(default_factory=Words)
    uploads: Mapping[str, tuple[UploadFile, ...]] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """Return a field without the spaces around it."""
        return self.words[name].strip()

    def needed(self, name: str, what: str) -> str:
        """Return a field that must be filled in; ``what`` names it for a person."""
        text = self.text(name)
        if not text:
            raise InputError(_("{what} is missing").format(what=what), remedy=_("fill it in"))
        return text

    def whole(self, name: str, what: str) -> int:
        """Return a whole number from 0."""
        text = self.needed(name, what)
        if not (text.isascii() and text.isdecimal() and len(text) <= MOST_DIGITS):
            raise InputError(
                _("“{text}” is not a whole number").format(text=text[:20]),
                where=what,
                remedy=_("write it in digits, like 12"),
            )
        return int(text)

    def day(self, name: str, what: str) -> date | None:
        """Return a day, or None when the field is empty."""
        text = self.text(name)
        return read_day(text, what) if text else None

    @property
    def seen(self) -> int:
        """The version of the record that the page showed."""
        return self.whole("seen", _("the version this page showed"))

    def file(self, name: str) -> tuple[str, bytes] | None:
        """Return the name and the bytes of a chosen file, or None when none was chosen."""
        return next(iter(self.files(name)), None)

    def files(self, name: str) -> tuple[tuple[str, bytes], ...]:
        """Return names and bytes of all files chosen in a field."""
        chosen = ((u.filename or "", u.file.read()) for u in self.uploads.get(name, ()))
        return tuple((label, data) for label, data in chosen if data)

    def number(self, name: str, what: str) -> float:
        """Return a number that may have decimals."""
        text = self.needed(name, what).replace(",", ".")
        if not re.fullmatch(r"\d{1,9}(\.\d{0,6})?", text, re.ASCII):
            raise InputError(
                _("“{text}” is not a number").format(text=text[:20]),
                where=what,
                remedy=_("write it in digits, like 12.5"),
            )
        return float(text)

    def names(self, name: str) -> tuple[str, ...]:
        """Return what stands between commas."""
        return tuple(part.strip() for part in self.text(name).split(",") if part.strip())


def read_day(text: str, what: str) -> date:
    """Return a day as ISO 8601 and every browser's day field write it."""
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise InputError(
            _("“{text}” is not a day").format(text=text[:40]),
            where=what,
            remedy=_("write it like 2031-04-05"),
        ) from fault


async def read_typed(request: Request) -> Typed:
    """Return what the form of this request holds."""
    form = await request.form()
    words = Words((name, value) for name, value in form.items() if isinstance(value, str))
    uploads: dict[str, tuple[UploadFile, ...]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            uploads[name] = (*uploads.get(name, ()), value)
    if any(len(value) > LONGEST_TEXT for value in words.values()):
        raise InputError(
            _("a text is longer than {n} letters").format(n=LONGEST_TEXT), remedy=_("shorten it")
        )
    return Typed(words, uploads)


TypedForm = Annotated[Typed, Depends(read_typed)]
