"""A customer: who they are, how they write, what they agreed to; or what is left once erased."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.plain_text import clean_line, clean_text

if TYPE_CHECKING:
    from datetime import datetime


class Consent(StrEnum):
    """What a customer has said yes to once for all."""

    RECORDS = "records"
    PHOTOS = "photos"
    SUBSTITUTES = "substitutes"


@dataclass(frozen=True, slots=True)
class Customer:
    """A person or a group that orders.

    Parameters
    ----------
    id : int
        From 1; 0 before it is stored.
    name : str
        Empty only when erased.
    writes_by : str
        How they write and where: an address, a number, "at the gate".
    notes : str
    consent : tuple of Consent
        Without doubles, in the order of ``Consent``.
    version : int
        Counts the changes; 0 before it is stored.
    erased_at : datetime or None
        When the person was erased; the orders' figures stay.
    """

    id: int
    name: str
    writes_by: str = ""
    notes: str = ""
    consent: tuple[Consent, ...] = ()
    version: int = 0
    erased_at: datetime | None = None

    def __post_init__(self) -> None:
        name = clean_line(self.name, where=_("name"))
        if not name and self.erased_at is None:
            raise InputError(_("the customer has no name"), remedy=_("give one"))
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "writes_by", clean_line(self.writes_by, where=_("writes by")))
        object.__setattr__(self, "notes", clean_text(self.notes, where=_("notes")))
        given = tuple(kind for kind in Consent if kind in self.consent)
        object.__setattr__(self, "consent", given)

    @property
    def is_erased(self) -> bool:
        """True when the person is gone and only figures are left."""
        return self.erased_at is not None


def read_consent(text: str) -> tuple[Consent, ...]:
    """Return the kinds of consent named between commas.

    Raises
    ------
    InputError
        When a word is none of them.
    """
    words = [word.strip().lower() for word in text.split(",") if word.strip()]
    kinds = [str(kind) for kind in Consent]
    for word in words:
        if word not in kinds:
            raise InputError(
                _("“{word}” is not a kind of consent").format(word=word[:40]),
                remedy=_("choose from {kinds}").format(kinds=", ".join(kinds)),
            )
    return tuple(Consent(word) for word in words)
