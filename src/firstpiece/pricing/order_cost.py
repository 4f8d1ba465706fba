"""What an order costs the shop: labour, thread, bobbin, backing, blanks, and the pieces spoilt.

Input: the forecast of one piece, its set-up and the price card. Output: exact money for the whole
order, before rounding. The customer's lines are made elsewhere; this is the other side of margin.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from firstpiece.pricing.rounding import from_minor

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Setup
    from firstpiece.model.quote import BlankCount, PriceCard

MINUTES_PER_HOUR = 60


def order_cost(
    forecast: Forecast,
    *,
    setup: Setup,
    card: PriceCard,
    quantity: int,
    blanks: tuple[BlankCount, ...] = (),
) -> Money:
    """Return what the order costs the shop; ``blanks`` are its garments, empty for the set-up's.

    Notes
    -----
    pieces × (1 + spoilage) × (labour + thread + backing + blank). A spoilt piece loses its blank,
    its materials and the time put into it, so the allowance is taken on all of them. The set-up
    charge pays for preparing the design; that time is not known here and is not in the cost.
    """
    piece = (
        handling_labour(card)
        + sewing_labour(forecast, setup=setup, card=card)
        + thread_cost(forecast, setup=setup, card=card)
        + from_minor(setup.backing.sheet_cost_minor, card.currency)
    )
    minor = sum(blank.cost_minor * blank.count for blank in blanks)
    bought = minor if blanks else setup.garment.cost_minor * quantity
    return (piece * quantity + from_minor(bought, card.currency)) * (1 + card.spoilage)


def handling_labour(card: PriceCard) -> Money:
    """Return the labour of hooping and finishing one piece."""
    minutes = card.hooping_minutes + card.finishing_minutes
    return card.labour_per_hour * minutes / MINUTES_PER_HOUR


def sewing_labour(forecast: Forecast, *, setup: Setup, card: PriceCard) -> Money:
    """Return the labour of minding the machine for one piece; heads sew side by side."""
    minutes = decimal_of(forecast.sewing_minutes.band.p50) / setup.machine.heads
    return card.labour_per_hour * minutes / MINUTES_PER_HOUR


def thread_cost(forecast: Forecast, *, setup: Setup, card: PriceCard) -> Money:
    """Return the top and bobbin thread of one piece at the cone's price by the metre.

    Notes
    -----
    Bobbin thread has no card of its own and is costed like top thread, which is the dearer.
    """
    top_m = sum(use.top_m.band.p50 for use in forecast.thread_use)
    metres = decimal_of(top_m) + decimal_of(forecast.bobbin_m.band.p50)
    cone = from_minor(setup.thread.cone_cost_minor, card.currency)
    return cone * metres / decimal_of(setup.thread.cone.value)


def decimal_of(number: float) -> Decimal:
    """Return the decimal a float prints as, so that 0.1 is a tenth."""
    return Decimal(repr(float(number)))
