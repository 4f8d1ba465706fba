"""What the stitches of one piece cost the customer: banded rate, quantity break, minimum.

The bands are marginal, like tax brackets: each thousand stitches is charged at the rate of the band
it falls in, so one stitch more never makes a design cheaper. Input: a count of stitches and pieces
and the price card. Output: money for sewing one piece, rounded half up.
"""

from __future__ import annotations

from decimal import Decimal
from gettext import gettext as _
from typing import TYPE_CHECKING

from moneyed import Money

from firstpiece.errors import CardError
from firstpiece.pricing.rounding import round_half_up

if TYPE_CHECKING:
    from firstpiece.model.quote import PriceCard

STITCHES_PER_RATE = 1000


def sewing_each(n_stitches: int, *, quantity: int, card: PriceCard) -> Money:
    """Return the price of sewing one piece.

    Parameters
    ----------
    n_stitches : int
        Penetrations in the design.
    quantity : int
        Pieces in the order.
    card : PriceCard

    Returns
    -------
    Money
        Never below the card's minimum; never rises with ``quantity``, never falls with
        ``n_stitches``.

    Raises
    ------
    CardError
        When the bands do not rise or leave a large design without a rate.
    """
    full = stitch_price(n_stitches, card=card)
    kept = 1 - quantity_discount(quantity, card=card)
    return max(round_half_up(full * kept), card.minimum_per_piece)


def stitch_price(n_stitches: int, *, card: PriceCard) -> Money:
    """Return the exact banded price of a count of stitches, before breaks and minimum."""
    _check_bands(card)
    price = Money(0, card.currency)
    charged = 0
    for band in card.rates:
        upper = n_stitches if band.up_to_stitches is None else min(n_stitches, band.up_to_stitches)
        in_band = max(0, upper - charged)
        price += band.per_thousand * Decimal(in_band) / STITCHES_PER_RATE
        charged += in_band
    return price


def quantity_discount(quantity: int, *, card: PriceCard) -> Decimal:
    """Return the largest share off that this many pieces has reached, 0 when none."""
    reached = [b.discount for b in card.breaks if quantity >= b.from_pieces]
    return max(reached, default=Decimal(0))


def _check_bands(card: PriceCard) -> None:
    uppers = [band.up_to_stitches for band in card.rates]
    finite = [upper for upper in uppers[:-1] if upper is not None]
    rising = all(a < b for a, b in zip([0, *finite], finite, strict=False))
    if not uppers or uppers[-1] is not None or len(finite) != len(uppers) - 1 or not rising:
        raise CardError(
            _("the stitch rates do not rise to an open end"),
            where=_("price card “{name}”").format(name=card.name),
            remedy=_("order them by up_to_stitches and leave the last one without it"),
        )
