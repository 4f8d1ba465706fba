"""Money is rounded in two places only, always to the currency's smallest coin.

Input: an exact amount. Output: the amount in whole minor units (pence, yen, fils): half up for a
line a customer reads, up for the price of one piece, so that pieces times price covers the order.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from moneyed import Money


def round_half_up(amount: Money) -> Money:
    """Return the amount to the nearest minor unit, a half going up."""
    return _to_minor(amount, ROUND_HALF_UP)


def round_up(amount: Money) -> Money:
    """Return the amount, raised to the next whole minor unit."""
    return _to_minor(amount, ROUND_CEILING)


def from_minor(minor: int, currency: str) -> Money:
    """Return a card's whole number of minor units as money (pence to pounds, yen to yen)."""
    return Money(Decimal(minor) / Money(0, currency).currency.sub_unit, currency)


def _to_minor(amount: Money, rounding: str) -> Money:
    coins = Decimal(amount.currency.sub_unit)
    whole = (amount.amount * coins).quantize(Decimal(1), rounding=rounding)
    return Money(whole / coins, amount.currency)
