"""The shop's price card and the quotes made from it. Money is ``moneyed.Money``."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moneyed import Money


@dataclass(frozen=True, slots=True)
class RateBand:
    """Price per thousand stitches up to a count of stitches in the design (None: no upper end)."""

    up_to_stitches: int | None
    per_thousand: Money


@dataclass(frozen=True, slots=True)
class QuantityBreak:
    """From this many pieces on, sewing costs this share less (0 to 1)."""

    from_pieces: int
    discount: Decimal


@dataclass(frozen=True, slots=True)
class PriceCard:
    """How a shop turns stitches and minutes into a price.

    ``hooping_minutes`` and ``finishing_minutes`` are per piece; ``labour_per_hour`` is what an hour
    costs the shop; ``blank_markup``, ``spoilage`` and ``tax`` are shares of 1, and so are ``rush``
    (added to sewing, hooping and finishing of a hurried order) and ``deposit`` (of the total, to be
    paid beforehand). An offer holds for ``valid_days`` days; 0 leaves it open.
    """

    name: str
    label: str
    currency: str
    rates: tuple[RateBand, ...]
    minimum_per_piece: Money
    setup_per_design: Money
    hooping_minutes: Decimal
    finishing_minutes: Decimal
    labour_per_hour: Money
    blank_markup: Decimal
    spoilage: Decimal
    breaks: tuple[QuantityBreak, ...]
    tax: Decimal
    rush: Decimal = Decimal(0)
    deposit: Decimal = Decimal(0)
    valid_days: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.rush <= 10 or not 0 <= self.deposit <= 1 or self.valid_days < 0:
            msg = "rush, deposit or valid_days is out of range"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class BlankCount:
    """So many pieces of one garment, which costs the shop so many minor units each."""

    label: str
    cost_minor: int
    count: int


@dataclass(frozen=True, slots=True)
class OrderTerms:
    """What is special about an order.

    Parameters
    ----------
    free_pieces : int
        Given away beside those paid for.
    is_rush : bool
    blanks : tuple of BlankCount
        The garments of an order of several kinds, free ones counted in and last; empty when all
        are the set-up's own.
    """

    free_pieces: int = 0
    is_rush: bool = False
    blanks: tuple[BlankCount, ...] = ()

    def first_blanks(self, n_pieces: int) -> tuple[BlankCount, ...]:
        """Return the garments of the first so many pieces."""
        left, found = n_pieces, []
        for blank in self.blanks:
            if taken := min(left, blank.count):
                found.append(BlankCount(blank.label, blank.cost_minor, taken))
                left -= taken
        return tuple(found)


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line a customer reads: words, pieces or 1, price of one, amount."""

    label: str
    count: int
    each: Money
    amount: Money


@dataclass(frozen=True, slots=True)
class Quote:
    """A price for a number of pieces at one height.

    ``quantity`` counts the pieces paid for; ``each`` is the total before tax over them, rounded up
    to the currency's unit; ``cost`` is what the whole order costs the shop, ``free_cost`` the part
    of it that the ``free_pieces`` cost; ``margin`` = (net − cost)/net; ``deposit`` is due before
    work begins, None when the shop asks for none.
    """

    height_mm: float
    width_mm: float
    quantity: int
    n_stitches: int
    minutes_each: float
    lines: tuple[QuoteLine, ...]
    net: Money
    tax: Money
    total: Money
    each: Money
    cost: Money
    margin: Decimal
    free_pieces: int = 0
    free_cost: Money | None = None
    deposit: Money | None = None
