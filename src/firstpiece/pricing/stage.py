"""Forecast and price card to a quote: the lines a customer reads, and what the shop keeps.

Input: the forecast of one piece, the set-up, the price card, size and quantity. Output: a ``Quote``
whose lines add up by hand: every line is pieces times a price already rounded to whole coins.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from gettext import gettext as _
from typing import TYPE_CHECKING

from moneyed import Money

from firstpiece.errors import InputError
from firstpiece.model.quote import BlankCount, OrderTerms, Quote, QuoteLine
from firstpiece.pricing.order_cost import handling_labour, order_cost
from firstpiece.pricing.rounding import from_minor, round_half_up, round_up
from firstpiece.pricing.sewing_rate import sewing_each

if TYPE_CHECKING:
    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Setup
    from firstpiece.model.quote import PriceCard

MOST_PIECES = 1_000_000


def price_job(
    forecast: Forecast,
    *,
    setup: Setup,
    card: PriceCard,
    size_mm: tuple[float, float],
    quantity: int,
    terms: OrderTerms | None = None,
) -> Quote:
    """Return the price of a number of pieces of one design on one garment.

    Parameters
    ----------
    forecast : Forecast
        Of one piece; gives stitches, minutes and thread.
    setup : Setup
        Gives blank, backing, thread and machine.
    card : PriceCard
    size_mm : tuple of float [mm]
        Width and height of the painted box, printed on the quote.
    quantity : int
        Pieces paid for, 1 to 1,000,000.
    terms : OrderTerms or None
        Pieces given away beside them, whether the order is hurried, and its garments when they are
        of several kinds.

    Returns
    -------
    Quote

    Raises
    ------
    InputError
        When the quantity, or that of free pieces, is not a number of pieces, or the garments are
        not as many as the pieces.
    CardError
        When the card's rates do not cover every design.

    Notes
    -----
    Line prices and tax are rounded half up to the currency's smallest coin, ``each`` is rounded
    up. Card prices in minor units of blanks, backings and cones are in the price card's currency.
    Free pieces are sewn with the others but reach no quantity break; they change the cost and the
    margin, never the price. The rush share is taken on the rounded price of one piece's sewing and
    handling, so that the price of one still never rises with the quantity.
    """
    terms = terms or OrderTerms()
    _check_count(quantity, least=1)
    _check_count(terms.free_pieces, least=0)
    lines = _lines(forecast, setup=setup, card=card, quantity=quantity, terms=terms)
    net = sum((line.amount for line in lines), Money(0, card.currency))
    tax = round_half_up(net * card.tax)
    sewn = quantity + terms.free_pieces
    if terms.blanks and sum(blank.count for blank in terms.blanks) != sewn:
        raise InputError(
            _("the garments are not as many as the pieces"), remedy=_("count them again")
        )

    def cost_of(n_pieces: int) -> Money:
        blanks = terms.first_blanks(n_pieces)
        return round_half_up(
            order_cost(forecast, setup=setup, card=card, quantity=n_pieces, blanks=blanks)
        )

    cost, paid_cost = cost_of(sewn), cost_of(quantity)
    return Quote(
        height_mm=size_mm[1],
        width_mm=size_mm[0],
        quantity=quantity,
        n_stitches=forecast.n_stitches,
        minutes_each=forecast.sewing_minutes.band.p50,
        lines=lines,
        net=net,
        tax=tax,
        total=net + tax,
        each=round_up(net / quantity),
        cost=cost,
        margin=_margin(net, cost),
        free_pieces=terms.free_pieces,
        free_cost=cost - paid_cost if terms.free_pieces else None,
        deposit=round_up((net + tax) * card.deposit) if card.deposit else None,
    )


def _check_count(n: int, *, least: int) -> None:
    if not least <= n <= MOST_PIECES:
        raise InputError(
            _("{n} is not a number of pieces").format(n=n),
            remedy=_("ask for {least} to {most} pieces").format(
                least=least, most=f"{MOST_PIECES:,}"
            ),
        )


def _lines(
    forecast: Forecast, *, setup: Setup, card: PriceCard, quantity: int, terms: OrderTerms
) -> tuple[QuoteLine, ...]:
    """Return the customer's lines; a line of nothing is left out, free pieces are told as free."""
    own = BlankCount(setup.garment.label, setup.garment.cost_minor, quantity)
    blanks = terms.first_blanks(quantity) or (own,)
    sewing = sewing_each(forecast.n_stitches, quantity=quantity, card=card)
    hurried = round_half_up(sewing) + round_half_up(handling_labour(card))
    rush = hurried * card.rush if terms.is_rush else Money(0, card.currency)
    drafts = (
        (_("Set-up of the design, once"), 1, card.setup_per_design),
        (_("Sewing, {n} stitches").format(n=f"{forecast.n_stitches:,}"), quantity, sewing),
        (_("Hooping and finishing"), quantity, handling_labour(card)),
        (_("Rush"), quantity, rush),
        *((b.label, b.count, from_minor(b.cost_minor, card.currency) * (1 + card.blank_markup))
          for b in blanks),
    )  # fmt: skip
    priced = ((label, count, round_half_up(each)) for label, count, each in drafts)
    lines = [QuoteLine(label, count, each, each * count) for label, count, each in priced if each]
    if terms.free_pieces:
        nothing = Money(0, card.currency)
        lines.append(QuoteLine(_("Free of charge"), terms.free_pieces, nothing, nothing))
    return tuple(lines)


def _margin(net: Money, cost: Money) -> Decimal:
    if not net:
        return Decimal(0)
    share: Decimal = (net - cost).amount / net.amount
    return share.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP)
