"""The faults Firstpiece reports: each says what is wrong, where, and what to do next.

Raise one of these when no value can be produced. Something that can be produced but will sew badly
is a ``Finding`` instead; a fault of the program is a plain exception and is never swallowed.
"""

from __future__ import annotations


class FirstpieceError(Exception):
    """A fault a person can mend, told in one clear sentence.

    Parameters
    ----------
    what : str
        The fault, as a clause without a full stop ("the picture is empty").
    where : str
        The file, field or place it was found at; may be empty.
    remedy : str
        What to do next, as an imperative clause without a full stop; may be empty.
    """

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(what, where, remedy)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        advice = f"; {self.remedy}" if self.remedy else ""
        return f"{place}{self.what}{advice}."

    def __reduce__(self) -> tuple[object, ...]:
        # Exceptions cross process borders; the keyword-only arguments need a rebuilt call.
        return _rebuild, (type(self), self.what, self.where, self.remedy)


def _rebuild(kind: type[FirstpieceError], what: str, where: str, remedy: str) -> FirstpieceError:
    return kind(what, where=where, remedy=remedy)


class InputError(FirstpieceError):
    """A picture, a number, a card or a file that cannot be used."""


class PictureError(InputError):
    """A picture that cannot be read or holds nothing to sew."""


class LengthError(InputError):
    """A length that is not understood or out of range."""


class CardError(InputError):
    """A material, garment, machine or price card that is unknown or wrong."""


class LayoutError(InputError):
    """A record layout, or bytes that do not follow it; ``where`` names the line or the byte."""


class EditError(InputError):
    """An edit of the design that makes no sense as it stands; the design is left as it was."""


class OutputError(InputError):
    """A place that cannot be written to."""


class JobError(InputError):
    """A job or customer that does not exist, or an action that makes no sense as it stands."""


class StoreError(FirstpieceError):
    """The shop's store is damaged, or was written by a newer Firstpiece."""


class StaleError(FirstpieceError):
    """Somebody else changed the same job or customer since it was read; nothing was written."""


class BusyError(FirstpieceError):
    """Something else holds what is needed; the same call may work later."""


class CancelledError(FirstpieceError):
    """The person stopped the work; nothing half-done is kept."""
