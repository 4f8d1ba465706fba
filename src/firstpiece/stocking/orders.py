"""One order for each supplier, in whole packs, out of what is missing and what runs low."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import TYPE_CHECKING

from firstpiece.model.buying import BuyLine, SupplierOrder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from moneyed import Money

    from firstpiece.model.buying import Level, Share
    from firstpiece.model.stock import StockItem, Supplier, SupplyKey


def group_orders(
    missing: Sequence[Share],
    low: Sequence[Level],
    *,
    items: Mapping[SupplyKey, StockItem],
    suppliers: Mapping[str, Supplier],
    today: date,
) -> tuple[SupplierOrder, ...]:
    """Return what to buy, by the name of the supplier; things without one are not bought.

    Parameters
    ----------
    missing : sequence of Share
        With something missing.
    low : sequence of Level
    items : mapping of SupplyKey to StockItem
    suppliers : mapping of str to Supplier
    today : date
    """
    for_jobs: dict[SupplyKey, list[Share]] = defaultdict(list)
    for share in missing:
        for_jobs[share.need.key].append(share)
    for_stock = {level.item.key: level.buy for level in low}
    lines: dict[str, list[BuyLine]] = defaultdict(list)
    for key in sorted(set(for_jobs) | set(for_stock)):
        item = items.get(key)
        if item is not None and item.supplier in suppliers:
            lines[item.supplier].append(buy(item, for_jobs[key], for_stock.get(key, 0)))
    return tuple(
        _order(suppliers[name], tuple(lines[name]), for_jobs, today) for name in sorted(lines)
    )


def buy(item: StockItem, wanted: Sequence[Share], for_stock: int) -> BuyLine:
    """Return the fewest packs that hold what jobs lack and, if more, what the shelf lacks."""
    for_jobs = sum(share.missing for share in wanted)
    per_pack = item.pack * item.unit_size
    # What runs low was reckoned with the jobs' needs taken off, so both are bought.
    packs = -(-(for_jobs + for_stock) // per_pack)
    cost = item.each * (packs * item.pack) if item.each is not None else None
    jobs = tuple(sorted({share.need.job for share in wanted}))
    return BuyLine(item, for_jobs, for_stock, packs, cost, jobs)


def _order(
    supplier: Supplier,
    lines: tuple[BuyLine, ...],
    for_jobs: Mapping[SupplyKey, Sequence[Share]],
    today: date,
) -> SupplierOrder:
    days = [
        share.need.needed_by
        for line in lines
        for share in for_jobs.get(line.item.key, ())
        if share.need.needed_by is not None
    ]
    lead = timedelta(days=supplier.lead_days)
    return SupplierOrder(
        supplier=supplier,
        lines=lines,
        total=_total(lines),
        arrives=today + lead,
        order_by=min(days) - lead if days else None,
    )


def _total(lines: Sequence[BuyLine]) -> Money | None:
    """Return the cost of all lines when each is known and all are in one currency."""
    costs = [line.cost for line in lines if line.cost is not None]
    if len(costs) != len(lines) or len({str(cost.currency) for cost in costs}) != 1:
        return None
    total = costs[0]
    for cost in costs[1:]:
        total += cost
    return total
