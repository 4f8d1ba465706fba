"""Stock that runs low: things whose free count has reached the level to buy again at.

Input: what is held, what no job waits for, the use per day, lead times. Output: how much to buy.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from firstpiece.model.buying import Level
from firstpiece.stocking.reorder import economic_lot, reorder_point

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from firstpiece.model.buying import DailyUse, StockRules
    from firstpiece.model.stock import Holding, StockItem, Supplier, SupplyKey

DAYS_PER_YEAR = 365


def find_low(
    held: Sequence[Holding],
    *,
    free: Mapping[SupplyKey, int],
    use: Sequence[DailyUse],
    suppliers: Mapping[str, Supplier],
    rules: StockRules,
) -> tuple[Level, ...]:
    """Return the things at or below their level; a thing without use has none.

    Parameters
    ----------
    held : sequence of Holding
    free : mapping of SupplyKey to int
        On the shelf or on its way, and not waited for.
    use : sequence of DailyUse
    suppliers : mapping of str to Supplier
    rules : StockRules
    """
    uses = {entry.key: entry for entry in use}
    low = []
    for holding in held:
        item = holding.item
        daily = uses.get(item.key)
        if daily is None or daily.mean <= 0:
            continue
        level = level_of(daily, supplier=suppliers.get(item.supplier), rules=rules)
        available = free.get(item.key, 0)
        if available <= level:
            lot = lot_of(item, daily, supplier=suppliers.get(item.supplier), rules=rules)
            low.append(Level(item, available, level, max(lot, level - available)))
    return tuple(low)


def level_of(use: DailyUse, *, supplier: Supplier | None, rules: StockRules) -> int:
    """Return the count at which a thing is bought again: use over the lead time and a safety."""
    lead_days = supplier.lead_days if supplier else 0
    point = reorder_point(use.mean, use.deviation, lead_days, rules.service)
    return max(1, math.ceil(point))


def lot_of(item: StockItem, use: DailyUse, *, supplier: Supplier | None, rules: StockRules) -> int:
    """Return how much to buy at a time: the economic lot, or a lead time's use without prices."""
    order_cost = supplier.order_cost if supplier else None
    if order_cost is None or item.each is None or not order_cost or not item.each:
        return max(1, math.ceil(use.mean * (supplier.lead_days if supplier else 7)))
    price = float(item.each.amount) / item.unit_size
    lot = economic_lot(
        use.mean * DAYS_PER_YEAR, float(order_cost.amount), price * rules.holding_share
    )
    return max(1, math.ceil(lot))
