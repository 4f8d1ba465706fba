"""What the shop keeps: blanks, cones, backing, topping, needles, bobbins; how many and where.

Blanks, sheets and needles are counted by the piece, thread by the metre left on each cone. Every
change of a count is a movement with its cause; the counts are what the movements add up to.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.plain_text import clean_line

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from moneyed import Money

WHOLE = 100
"""Fibre shares are whole percent and add up to this."""


class SupplyKind(StrEnum):
    """What sort of thing is kept."""

    BLANK = "blank"
    THREAD = "thread"
    BACKING = "backing"
    TOPPING = "topping"
    NEEDLE = "needle"
    BOBBIN = "bobbin"

    @property
    def is_metred(self) -> bool:
        """True when it is counted by the metre."""
        return self in (SupplyKind.THREAD, SupplyKind.BOBBIN)


class Feel(StrEnum):
    """How a cloth feels in the hand, from hard to soft; neighbours are alike."""

    STIFF = "stiff"
    CRISP = "crisp"
    SMOOTH = "smooth"
    SOFT = "soft"
    BRUSHED = "brushed"


@dataclass(frozen=True, slots=True, order=True)
class SupplyKey:
    """Which thing is meant: kind, card or style, colour, size.

    Of a blank ``name`` is its garment card (the style), of thread its thread card, of backing its
    backing card; ``color`` and ``size`` are empty where they say nothing.
    """

    kind: SupplyKind
    name: str
    color: str = ""
    size: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "kind", SupplyKind(self.kind))
        for field in ("name", "color", "size"):
            text = clean_line(getattr(self, field), where=field, most=120)
            object.__setattr__(self, field, text)
        if not self.name:
            raise InputError(_("the thing in stock has no name"), remedy=_("name its card"))

    @property
    def words(self) -> str:
        """The key for a reader."""
        return ", ".join(text for text in (self.name, self.color, self.size) if text)


@dataclass(frozen=True, slots=True)
class Cloth:
    """What a blank is made of, so that another may stand in for it.

    Parameters
    ----------
    kind : str
        The kind of garment ("tee").
    fibres : tuple of (str, int)
        Names and whole percent, adding up to 100; empty when not known.
    weight_gsm : float [g/m²]
        0 when not known.
    feel : Feel
    """

    kind: str
    fibres: tuple[tuple[str, int], ...] = ()
    weight_gsm: float = 0.0
    feel: Feel = Feel.SMOOTH

    def __post_init__(self) -> None:
        if self.fibres and sum(share for _name, share in self.fibres) != WHOLE:
            raise InputError(
                _("the fibres do not add up to 100 %"), remedy=_("write cotton 60, polyester 40")
            )
        if not 0 <= self.weight_gsm <= 2000:
            raise InputError(
                _("{n:g} g/m² is not the weight of a cloth").format(n=self.weight_gsm),
                remedy=_("give grams per square metre, such as 180"),
            )
        object.__setattr__(self, "fibres", tuple(sorted(self.fibres)))
        object.__setattr__(self, "feel", Feel(self.feel))


def read_fibres(text: str) -> tuple[tuple[str, int], ...]:
    """Return the fibres of ``cotton 60, polyester 40``; one name alone is the whole.

    Raises
    ------
    InputError
        When a share is not a whole number.
    """
    fibres = []
    parts = [part.split() for part in text.replace("%", " ").split(",") if part.strip()]
    for words in parts:
        alone = len(parts) == 1 and not words[-1].isdecimal()
        name, share = (" ".join(words), "100") if alone else (" ".join(words[:-1]), words[-1])
        if not name or not share.isdecimal():
            raise InputError(
                _("“{text}” is not a list of fibres").format(text=text[:40]),
                remedy=_("write cotton 60, polyester 40"),
            )
        fibres.append((name.lower(), int(share)))
    return tuple(fibres)


@dataclass(frozen=True, slots=True)
class StockItem:
    """A thing the shop keeps and how it is bought.

    Parameters
    ----------
    id : int
        From 1; 0 before it is stored.
    key : SupplyKey
    label : str
        For people; the key's words when empty.
    supplier : str
    pack : int
        It is bought by so many pieces, cones or bobbins.
    each : moneyed.Money or None
        Cost of a piece, cone or bobbin.
    metres_each : int [m]
        On a full cone or bobbin; 0 for what is counted by the piece.
    cloth : Cloth or None
        Of a blank.
    barcode : str
        What a scanner reads from the supplier's own label; may be empty.
    version : int
    """

    id: int
    key: SupplyKey
    label: str = ""
    supplier: str = ""
    pack: int = 1
    each: Money | None = None
    metres_each: int = 0
    cloth: Cloth | None = None
    barcode: str = ""
    version: int = 0

    def __post_init__(self) -> None:
        for field in ("label", "supplier", "barcode"):
            object.__setattr__(self, field, clean_line(getattr(self, field), where=field, most=120))
        if not self.label:
            object.__setattr__(self, "label", self.key.words)
        if not 1 <= self.pack <= 100_000:
            raise InputError(
                _("{n} is not a size of pack").format(n=self.pack), remedy=_("give 1 or more")
            )
        if self.key.kind.is_metred != (self.metres_each > 0):
            raise InputError(
                _("thread is kept by the metre, everything else by the piece"),
                where=self.label,
                remedy=_("give the metres on a full cone for thread and bobbins only"),
            )

    @property
    def unit_size(self) -> int:
        """What one piece, cone or bobbin counts for: 1, or its metres."""
        return self.metres_each or 1


@dataclass(frozen=True, slots=True, order=True)
class Lot:
    """So many pieces at a place, or so many metres left on one cone."""

    place: str
    count: int


@dataclass(frozen=True, slots=True)
class Holding:
    """A thing with all its lots."""

    item: StockItem
    lots: tuple[Lot, ...] = ()

    @property
    def count(self) -> int:
        """Pieces, or metres, in all places together."""
        return sum(lot.count for lot in self.lots)


@dataclass(frozen=True, slots=True)
class Supplier:
    """Who things are bought from; ``lead_days`` pass from order to arrival."""

    name: str
    lead_days: int = 7
    order_cost: Money | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", clean_line(self.name, where=_("supplier"), most=120))
        object.__setattr__(self, "notes", clean_line(self.notes, where=_("notes")))
        if not self.name:
            raise InputError(_("the supplier has no name"), remedy=_("give one"))
        if not 0 <= self.lead_days <= 730:
            raise InputError(
                _("{n} days is not a lead time").format(n=self.lead_days),
                remedy=_("give the days from order to arrival, 0 to 730"),
            )


class Cause(StrEnum):
    """Why a count changed."""

    RECEIVED = "received"
    TAKEN = "taken"
    RETURNED = "returned"
    COUNTED = "counted"
    SPOILED = "spoiled"
    MOVED = "moved"


@dataclass(frozen=True, slots=True)
class Movement:
    """One change of one lot; ``after`` is what was there when it was done.

    ``reason`` is a person's word for it; it must be there when a count is corrected, and when more
    was taken than was written down.
    """

    number: int
    at: datetime
    item: int
    place: str
    change: int
    after: int
    cause: Cause
    reason: str = ""
    job: int = 0


def move_stock(before: int, change: int, *, cause: Cause, reason: str = "", where: str = "") -> int:
    """Return what is left of a lot after a change.

    Raises
    ------
    InputError
        When a count is corrected without a reason, or more is taken than there is without one.
    """
    after = before + change
    said = bool(reason.strip())
    if cause == Cause.COUNTED and change and not said:
        raise InputError(
            _("a count is not changed without a reason ({before} written down, {after} counted)")
            .format(before=before, after=after),
            where=where,
            remedy=_("say why"),
        )  # fmt: skip
    if after < 0 and change < 0 and not said:
        raise InputError(
            _("{n} cannot be taken where {there} are written down").format(n=-change, there=before),
            where=where,
            remedy=_("count again, or say why"),
        )
    return after


def fold_movements(movements: Iterable[Movement]) -> dict[tuple[int, str], int]:
    """Return the count of every lot, by item number and place, that movements add up to.

    Raises
    ------
    ValueError
        When a movement does not follow from those before it: the log is damaged.
    """
    counts: dict[tuple[int, str], int] = {}
    for move in movements:
        lot = (move.item, move.place)
        counts[lot] = counts.get(lot, 0) + move.change
        if counts[lot] != move.after:
            msg = f"movement {move.number} leaves {move.after} where {counts[lot]} must be"
            raise ValueError(msg)
    return counts
