"""The shop's price card and the quotes made from it. Money is ``moneyed.Money``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from decimal import Decimal

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
    costs the shop; ``blank_markup`` and ``spoilage`` and ``tax`` are shares of 1.
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

    ``each`` is the total before tax over the pieces, rounded up to the currency's unit; ``cost`` is
    what the order costs the shop; ``margin`` = (net − cost)/net.
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
