"""What size fits a budget: heights are planned anew and priced, closing in on the largest.

Stitches grow with height by no fixed rule, so nothing is scaled: every height that is tried goes
through the whole chain. The answer was itself priced, and fits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from babel.numbers import format_currency

from firstpiece.errors import InputError
from firstpiece.shop.prepare import LARGEST_HEIGHT_MM, check_height, prepare

if TYPE_CHECKING:
    from collections.abc import Callable

    from moneyed import Money

    from firstpiece.model.quote import Quote
    from firstpiece.shop.prepare import PrepareRequest, Report

MOST_PLANS = 9
"""Heights tried at most; each costs a whole plan."""


@dataclass(frozen=True, slots=True)
class TriedHeight:
    """A height as it was planned: its price, and why it must not be sewn (empty: it may)."""

    height_mm: float
    quote: Quote
    hoop: str
    blocked: str


@dataclass(frozen=True, slots=True)
class BudgetFit:
    """The largest height whose price of one piece is within the budget.

    ``best`` is None when even the least height costs too much or may not be sewn; ``tried`` are
    all heights planned, rising.
    """

    budget: Money
    quantity: int
    best: TriedHeight | None
    tried: tuple[TriedHeight, ...]

    @property
    def sentence(self) -> str:
        """The answer in words."""
        money = format_currency(self.budget.amount, str(self.budget.currency), locale="en_GB")
        if self.best is None:
            return _("No height from {low:.0f} mm up fits {money} each, {n} ordered.").format(
                low=self.tried[0].height_mm, money=money, n=self.quantity
            )
        each = self.best.quote.each
        price = format_currency(each.amount, str(each.currency), locale="en_GB")
        return _("{money} each, {n} ordered: up to {height:.0f} mm high ({price} each).").format(
            money=money, n=self.quantity, height=self.best.height_mm, price=price
        )


def fit_budget(
    request: PrepareRequest,
    *,
    budget: Money,
    least_mm: float = 30.0,
    most_mm: float = 300.0,
    report: Report | None = None,
) -> BudgetFit:
    """Return the largest height at which one piece of the request's quantity fits the budget.

    Parameters
    ----------
    request : PrepareRequest
        Its own height is not used.
    budget : moneyed.Money
        For one piece, before tax, in the price card's currency.
    least_mm, most_mm : float [mm]
        Heights looked between.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Raises
    ------
    InputError
        When the budget is in another currency or the heights are the wrong way round.
    """
    check_height(least_mm)
    check_height(most_mm)
    if not least_mm < most_mm <= LARGEST_HEIGHT_MM:
        raise InputError(
            _("the least height must be below the largest"), remedy=_("swap the two heights")
        )
    tried: dict[float, TriedHeight] = {}

    def fits(height_mm: float) -> bool:
        done = prepare(replace(request, height_mm=height_mm), report=_step(report, len(tried)))
        if str(done.quote.each.currency) != str(budget.currency):
            raise InputError(
                _("the budget is in {one}, the price card in {other}").format(
                    one=budget.currency, other=done.quote.each.currency
                ),
                remedy=_("give the budget in the shop's money"),
            )
        hoop = done.hoop
        blocking = [f.reason for f in done.findings if f.severity.name == "BLOCK"]
        tried[height_mm] = TriedHeight(
            height_mm, done.quote, hoop.label if hoop else "", blocking[0] if blocking else ""
        )
        return bool(done.quote.each <= budget)

    search_largest(fits, least_mm, most_mm)
    rising = tuple(tried[h] for h in sorted(tried))
    able = [t for t in rising if t.quote.each <= budget and not t.blocked]
    return BudgetFit(budget, request.quantity, able[-1] if able else None, rising)


def fit_object(fit: BudgetFit) -> dict[str, Any]:
    """Return a fit as plain values, every height tried with its price."""
    return {
        "amount": str(fit.budget.amount),
        "currency": str(fit.budget.currency),
        "quantity": fit.quantity,
        "height_mm": fit.best.height_mm if fit.best else None,
        "sentence": fit.sentence,
        "tried": [
            {
                "height_mm": t.height_mm,
                "each": str(t.quote.each.amount),
                "n_stitches": t.quote.n_stitches,
                "hoop": t.hoop,
                "blocked": t.blocked,
            }
            for t in fit.tried
        ],
    }


def search_largest(fits: Callable[[float], bool], least: float, most: float) -> None:
    """Ask whether whole millimetres fit, closing in on the largest that does.

    Both ends are asked first; then the middle of what is left, at most ``MOST_PLANS`` in all.
    """
    low, high = float(round(least)), float(round(most))
    if not fits(low) or fits(high):
        return
    for _try in range(MOST_PLANS - 2):
        middle = float(round((low + high) / 2))
        if middle in (low, high):
            return
        if fits(middle):
            low = middle
        else:
            high = middle


def _step(report: Report | None, n_done: int) -> Report | None:
    if report is None:
        return None

    def tell(fraction: float, words: str) -> None:
        report((n_done + fraction) / MOST_PLANS, words)

    return tell
