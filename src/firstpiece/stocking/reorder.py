"""When to buy again and how much: lot size, one-off order, safety stock.

Plain formulas of operations research; the shop gives its own use, costs and lead times.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy.stats import norm

from firstpiece.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping


def economic_lot(use_per_year: float, order_cost: float, holding_cost: float) -> float:
    """Return the lot that makes ordering and holding cost least: √(2·D·S/H).

    Parameters
    ----------
    use_per_year : float
        Pieces used in a year.
    order_cost : float
        Cost of placing one order.
    holding_cost : float
        Cost of keeping one piece for a year.

    Raises
    ------
    InputError
        When a figure is not above zero.
    """
    for name, value in (
        ("the yearly use", use_per_year),
        ("the cost of an order", order_cost),
        ("the cost of keeping a piece", holding_cost),
    ):
        if not value > 0:
            msg = f"{name} must be above zero"
            raise InputError(msg, remedy="enter the shop's own figure")
    return math.sqrt(2 * use_per_year * order_cost / holding_cost)


def critical_ratio(cost_short: float, cost_over: float) -> float:
    """Return how often stock should suffice: short/(short + over)."""
    if cost_short <= 0 or cost_over <= 0:
        msg = "what a missing and a left-over piece cost must be above zero"
        raise InputError(msg, remedy="enter the shop's own figures")
    return cost_short / (cost_short + cost_over)


def one_off_order(mean: float, deviation: float, cost_short: float, cost_over: float) -> float:
    """Return the order for one season of normal demand: mean + z(critical ratio)·deviation."""
    z = float(norm.ppf(critical_ratio(cost_short, cost_over)))
    return mean + z * deviation


def one_off_order_from_counts(
    chance: Mapping[int, float], cost_short: float, cost_over: float
) -> int:
    """Return the smallest count whose chance of sufficing reaches the critical ratio."""
    ratio = critical_ratio(cost_short, cost_over)
    total = 0.0
    for count in sorted(chance):
        total += chance[count]
        if total >= ratio - 1e-12:
            return count
    msg = "the chances of demand add up to less than one"
    raise InputError(msg, remedy="give a chance for every count")


def reorder_point(
    mean_per_day: float, deviation_per_day: float, lead_days: float, service: float
) -> float:
    """Return the stock at which to buy again: use over the lead time plus z(service)·σ·√lead."""
    if not 0.5 <= service < 1.0:
        msg = "the wanted service must be from 50 % to below 100 %"
        raise InputError(msg, remedy="95 % is usual")
    safety = float(norm.ppf(service)) * deviation_per_day * math.sqrt(lead_days)
    return mean_per_day * lead_days + safety
