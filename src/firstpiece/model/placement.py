"""Where on a garment a design goes, in millimetres by garment kind, place and size."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import CardError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.measured import Measured

ANY_SIZE = "any"

CHEST_STEPS_CM = (74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131)
"""Edges of the bust intervals of EN 13402-3:2005, as coded in the R package Anthropometry."""

MEN_LETTERS_CM = (("S", 86, 94), ("M", 94, 102), ("L", 102, 110), ("XL", 110, 118),
                  ("XXL", 118, 129), ("3XL", 129, 141))  # fmt: skip
WOMEN_LETTERS_CM = (("S", 82, 90), ("M", 90, 98), ("L", 98, 107), ("XL", 107, 119))
"""Letters of EN 13402-3 by chest or bust girth in cm (from memory)."""


@dataclass(frozen=True, slots=True)
class Placement:
    """One place on one kind of garment.

    Parameters
    ----------
    kind, place : str
        Kind of garment ("tee") and the place's name ("centre-front").
    label : str
    sentence : str
        Words with ``{down}`` and, where the place is not on the middle, ``{across}``.
    down_mm : mapping of str to Measured [mm]
        By size; ``any`` stands for every size without its own.
    across_mm : mapping of str to Measured [mm]
        From the middle line; empty when the place is on it.
    """

    kind: str
    place: str
    label: str
    sentence: str
    down_mm: Mapping[str, Measured]
    across_mm: Mapping[str, Measured]

    def down(self, size: str) -> Measured:
        """Return how far down for a size; CardError when the table has no such size."""
        return self._of(self.down_mm, size)

    def across(self, size: str) -> Measured | None:
        """Return how far from the middle line for a size, None on the middle line."""
        return self._of(self.across_mm, size) if self.across_mm else None

    def words(self, size: str) -> str:
        """Return the place in a sentence with its millimetres for a size."""
        across = self.across(size)
        return self.sentence.format(
            down=f"{self.down(size).value:.0f} mm",
            across=f"{across.value:.0f} mm" if across else "",
        )

    def _of(self, table: Mapping[str, Measured], size: str) -> Measured:
        found = table.get(size.upper()) or table.get(size) or table.get(ANY_SIZE)
        if found is None:
            raise CardError(
                _("the placement table has no size “{size}”").format(size=size[:20]),
                where=_("{kind}, {label}").format(kind=self.kind, label=self.label),
                remedy=_("use one of {sizes}, or add it").format(sizes=", ".join(table)),
            )
        return found


def size_letter(chest_cm: float, *, cut: str = "men") -> str:
    """Return the letter for a body's chest or bust girth, or an empty text outside the table.

    Parameters
    ----------
    chest_cm : float [cm]
    cut : str
        ``men`` or ``women``.
    """
    table = MEN_LETTERS_CM if cut == "men" else WOMEN_LETTERS_CM
    return next((letter for letter, low, high in table if low <= chest_cm < high), "")
