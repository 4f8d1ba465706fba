"""What is ordered and on what terms: lines of garments, colourways, the price offered, the yes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.model.plain_text import clean_line

if TYPE_CHECKING:
    from datetime import date, datetime

    from moneyed import Money

MOST_PIECES = 100_000
LINE_FIELDS = ("garment", "color", "size", "placement", "colorway")


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One row of an order: a garment in one colour and size.

    Parameters
    ----------
    number : int
        Place in the order, from 1; 0 before it is added.
    garment : str
        Name of a garment card.
    count : int
        Pieces, 1 to 100,000.
    color : str
        Colour of the garment when the card leaves it open.
    size : str
        As the supplier writes it.
    placement : str
        Where the design goes; empty means the garment's usual place.
    colorway : str
        Name of a colourway of the job; empty means the design's own threads.
    names : tuple of str
        Names to personalise, one a piece, at most ``count``.
    """

    number: int
    garment: str
    count: int
    color: str = ""
    size: str = ""
    placement: str = ""
    colorway: str = ""
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for field in LINE_FIELDS:
            object.__setattr__(self, field, clean_line(getattr(self, field), where=field))
        names = tuple(clean_line(name, where=_("names"), most=80) for name in self.names)
        object.__setattr__(self, "names", tuple(name for name in names if name))
        if not self.garment:
            raise InputError(_("the line names no garment"), remedy=_("name a garment card"))
        if not 1 <= self.count <= MOST_PIECES:
            raise InputError(
                _("{n} is not a number of pieces").format(n=self.count),
                remedy=_("give 1 to {most}").format(most=MOST_PIECES),
            )
        if len(self.names) > self.count:
            raise InputError(
                _("{n} names for {count} pieces").format(n=len(self.names), count=self.count),
                remedy=_("give at most one name a piece"),
            )

    def figures(self) -> dict[str, Any]:
        """Return what stays when the customer is erased, as plain values."""
        return {"number": self.number, "count": self.count,
                **{field: getattr(self, field) for field in LINE_FIELDS}}  # fmt: skip

    def words(self) -> dict[str, Any]:
        """Return what a person wrote, as plain values."""
        return {"names": list(self.names)} if self.names else {}


def line_from(figures: dict[str, Any], words: dict[str, Any]) -> OrderLine:
    """Return the line of ``figures`` and ``words``; erased words leave no names."""
    return OrderLine(**figures, names=tuple(words.get("names", ())))


def count_pieces(lines: tuple[OrderLine, ...]) -> int:
    """Return the pieces of all lines."""
    return sum(line.count for line in lines)


@dataclass(frozen=True, slots=True)
class Colorway:
    """The design in other threads: thread names in the order of the plan's threads."""

    name: str
    threads: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", clean_line(self.name, where=_("colourway"), most=80))
        threads = tuple(clean_line(thread, most=80) for thread in self.threads)
        object.__setattr__(self, "threads", threads)
        if not self.name or not threads or not all(threads):
            raise InputError(
                _("a colourway needs a name and its threads"),
                remedy=_("name one thread for each thread of the design"),
            )


@dataclass(frozen=True, slots=True)
class Offer:
    """A price offered: for how many pieces, until when it holds, and what it rests on.

    ``free`` of the ``quantity`` are not paid for; ``deposit`` is due beforehand, None for none.
    """

    revision: int
    quantity: int
    net: Money
    total: Money
    at: datetime
    valid_until: date | None = None
    free: int = 0
    is_rush: bool = False
    deposit: Money | None = None


@dataclass(frozen=True, slots=True)
class Agreement:
    """Exactly what was agreed: design, threads, garments and price, when, and who said yes.

    ``plan_id`` is the short hash printed on proof, run sheet and ticket.
    """

    revision: int
    plan_id: str
    height_mm: float
    threads: tuple[str, ...]
    colorways: tuple[Colorway, ...]
    lines: tuple[OrderLine, ...]
    price: Money
    at: datetime
    said_by: str

    @property
    def n_pieces(self) -> int:
        """Pieces agreed."""
        return count_pieces(self.lines)


def renumber(line: OrderLine, number: int) -> OrderLine:
    """Return the same line at another place."""
    return replace(line, number=number)
