"""What open jobs need, what is short of it by which day, and what to buy from whom."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable
    from datetime import date

    from moneyed import Money

    from firstpiece.model.stock import StockItem, Supplier, SupplyKey


class Yes(StrEnum):
    """Where a customer's consent to a substitute stands."""

    NOT_ASKED = "not asked"
    ASKED = "asked"
    GIVEN = "given"
    REFUSED = "refused"
    ONCE_FOR_ALL = "given once for all"

    @property
    def is_yes(self) -> bool:
        """True when the substitute may be used."""
        return self in (Yes.GIVEN, Yes.ONCE_FOR_ALL)


@dataclass(frozen=True, slots=True)
class Need:
    """What one job needs of one thing.

    Parameters
    ----------
    job, line : int
        ``line`` 0 is for the job as a whole.
    title : str
    key : SupplyKey
    count : int
        Pieces, or metres.
    needed_by : date or None
        The day it must be at hand.
    is_firm : bool
        True once the customer has agreed.
    taken : int
        Already taken from the shelf for it.
    """

    job: int
    line: int
    title: str
    key: SupplyKey
    count: int
    needed_by: date | None = None
    is_firm: bool = True
    taken: int = 0

    @property
    def open_count(self) -> int:
        """What is still to be taken."""
        return max(0, self.count - self.taken)


@dataclass(frozen=True, slots=True)
class Incoming:
    """Bought and not here yet; ``number`` is the purchase it belongs to."""

    key: SupplyKey
    count: int
    arrives: date
    number: int = 0


@dataclass(frozen=True, slots=True)
class DailyUse:
    """What is used of a thing in a day: mean and standard deviation of pieces or metres."""

    key: SupplyKey
    mean: float
    deviation: float


@dataclass(frozen=True, slots=True)
class StockRules:
    """The shop's own figures for buying before something runs out.

    Parameters
    ----------
    service : float
        Share of lead times in which stock should suffice, 0.5 to below 1.
    holding_share : float
        What keeping a thing for a year costs, as a share of its price.
    """

    service: float = 0.95
    holding_share: float = 0.25


@dataclass(frozen=True, slots=True)
class Share:
    """What of a need is met: from the shelf, from what is coming (by when), and what is missing."""

    need: Need
    on_shelf: int
    incoming: int
    arrives: date | None
    missing: int

    @property
    def is_met(self) -> bool:
        """True when everything lies on the shelf."""
        return not self.incoming and not self.missing


@dataclass(frozen=True, slots=True)
class Substitute:
    """A blank in the same colour and size that could stand in.

    ``fibre_distance`` is the share of fibre that differs (0 to 1), ``weight_change_gsm`` how much
    heavier it is, ``feel_steps`` how many steps apart it feels; ``available`` is what no other job
    waits for.
    """

    item: StockItem
    available: int
    fibre_distance: float
    weight_change_gsm: float
    feel_steps: int
    consent: Yes = Yes.NOT_ASKED


@dataclass(frozen=True, slots=True)
class Shortage:
    """What one job will lack: how many, by which day, when they could come, what could stand in.

    ``arrives`` is None when nobody is known to sell it.
    """

    need: Need
    missing: int
    arrives: date | None
    is_late: bool
    substitutes: tuple[Substitute, ...] = ()


def unlisted(shortages: Iterable[Shortage], unknown: Collection[SupplyKey]) -> tuple[Shortage, ...]:
    """Return what is short of things on no list of stock, so that no supplier's order holds it."""
    return tuple(short for short in shortages if short.need.key in unknown)


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One thing to buy: ``for_jobs`` and ``for_stock`` pieces or metres make so many packs."""

    item: StockItem
    for_jobs: int
    for_stock: int
    packs: int
    cost: Money | None
    jobs: tuple[int, ...] = ()

    @property
    def units(self) -> int:
        """Pieces, cones or bobbins bought."""
        return self.packs * self.item.pack

    @property
    def count(self) -> int:
        """Pieces or metres bought."""
        return self.units * self.item.unit_size


@dataclass(frozen=True, slots=True)
class SupplierOrder:
    """What to buy from one supplier; ``order_by`` is the last day that serves every job."""

    supplier: Supplier
    lines: tuple[BuyLine, ...]
    total: Money | None
    arrives: date
    order_by: date | None


@dataclass(frozen=True, slots=True)
class Level:
    """A thing at or below the stock at which it is bought again."""

    item: StockItem
    free: int
    reorder_at: int
    buy: int


@dataclass(frozen=True, slots=True)
class BuyingList:
    """Need against stock: what goes to whom, what is short, what to buy.

    ``unknown`` lists the missing things that are on no list of the shop's stock, so that nobody
    knows who sells them.
    """

    shares: tuple[Share, ...]
    shortages: tuple[Shortage, ...]
    orders: tuple[SupplierOrder, ...]
    low: tuple[Level, ...]
    unknown: tuple[SupplyKey, ...] = ()
