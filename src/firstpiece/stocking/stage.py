"""Need against stock: what open jobs get, what is short by which day, what to buy from whom."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from firstpiece.model.buying import BuyingList, Shortage, StockRules, Yes
from firstpiece.stocking.allocation import free_counts, share_out
from firstpiece.stocking.levels import find_low
from firstpiece.stocking.orders import group_orders
from firstpiece.stocking.substitutes import rank_substitutes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from firstpiece.model.buying import DailyUse, Incoming, Need, Share
    from firstpiece.model.stock import Holding, Supplier, SupplyKey


@dataclass(frozen=True, slots=True)
class Shelf:
    """All that is here or on its way, and who sells it.

    Parameters
    ----------
    held : tuple of Holding
        Also of things of which none is left.
    incoming : tuple of Incoming
    suppliers : tuple of Supplier
    use : tuple of DailyUse
        Things that are not bought before a job asks for them have none.
    """

    held: tuple[Holding, ...]
    incoming: tuple[Incoming, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
    use: tuple[DailyUse, ...] = ()


def list_supplies(
    needs: Sequence[Need],
    shelf: Shelf,
    *,
    today: date,
    consents: Mapping[tuple[int, int, SupplyKey], Yes] | None = None,
    rules: StockRules | None = None,
) -> BuyingList:
    """Return who gets what, what is short, and what to buy.

    Parameters
    ----------
    needs : sequence of Need
        Of all open jobs.
    shelf : Shelf
    today : date
    consents : mapping or None
        Where a customer's consent stands, by job, line and blank.
    rules : StockRules or None

    Returns
    -------
    BuyingList
        What is bought and held covers every need of a thing that somebody sells.
    """
    shares = share_out(needs, shelf.held, shelf.incoming)
    suppliers = {supplier.name: supplier for supplier in shelf.suppliers}
    low = find_low(
        shelf.held,
        free=_free_position(shelf, shares),
        use=shelf.use,
        suppliers=suppliers,
        rules=rules or StockRules(),
    )
    missing = tuple(share for share in shares if share.missing)
    items = {holding.item.key: holding.item for holding in shelf.held}
    return BuyingList(
        shares=shares,
        shortages=_shortages(missing, shelf, shares, today=today, consents=consents or {}),
        orders=group_orders(missing, low, items=items, suppliers=suppliers, today=today),
        low=low,
        unknown=tuple(sorted({s.need.key for s in missing if s.need.key not in items})),
    )


def _free_position(shelf: Shelf, shares: Sequence[Share]) -> dict[SupplyKey, int]:
    """Return what is here or coming and waited for by nobody."""
    free: dict[SupplyKey, int] = defaultdict(int, free_counts(shelf.held, shares))
    for parcel in shelf.incoming:
        free[parcel.key] += parcel.count
    for share in shares:
        free[share.need.key] -= share.incoming
    return dict(free)


def _shortages(
    missing: Sequence[Share],
    shelf: Shelf,
    shares: Sequence[Share],
    *,
    today: date,
    consents: Mapping[tuple[int, int, SupplyKey], Yes],
) -> tuple[Shortage, ...]:
    """Return what each job lacks, with what is free to stand in for it."""
    items = {holding.item.key: holding.item for holding in shelf.held}
    suppliers = {supplier.name: supplier for supplier in shelf.suppliers}
    free = free_counts(shelf.held, shares)
    found = []
    for share in missing:
        need, item = share.need, items.get(share.need.key)
        supplier = suppliers.get(item.supplier) if item else None
        arrives = today + timedelta(days=supplier.lead_days) if supplier else None
        by = need.needed_by
        is_late = by is not None and (arrives is None or arrives > by)
        job, line = need.job, need.line
        able = (
            rank_substitutes(
                item,
                shelf.held,
                free=free,
                consent=lambda key, job=job, line=line: consents.get(  # type: ignore[misc]
                    (job, line, key), Yes.NOT_ASKED
                ),
            )
            if item
            else ()
        )
        found.append(Shortage(need, share.missing, arrives, is_late, able))
    return tuple(found)
