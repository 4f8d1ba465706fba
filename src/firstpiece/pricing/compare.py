"""Two quotes set against each other: what the other size, design or number costs more or less.

Input: quotes of one design. Output: the difference, and a sentence a customer understands.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from babel.numbers import format_currency

from firstpiece.units import format_length

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.model.quote import Quote


@dataclass(frozen=True, slots=True)
class QuoteChange:
    """What ``after`` has more (below zero: less) than ``before``."""

    before: Quote
    after: Quote
    n_stitches: int
    minutes_each: float
    each: Money
    total: Money


def compare_quotes(before: Quote, after: Quote) -> QuoteChange:
    """Return the difference of two quotes in one currency.

    Raises
    ------
    TypeError
        When their currencies differ.
    """
    return QuoteChange(
        before=before,
        after=after,
        n_stitches=after.n_stitches - before.n_stitches,
        minutes_each=after.minutes_each - before.minutes_each,
        each=after.each - before.each,
        total=after.total - before.total,
    )


def say_change(change: QuoteChange, *, unit: str = "mm", locale: str = "en_GB") -> str:
    """Return the difference as a sentence ("At 12 in: +50,000 stitches, +31 min, +£18.40 each").

    Parameters
    ----------
    change : QuoteChange
    unit : str
        ``mm`` or ``in``.
    locale : str
        How money is written.
    """
    height = format_length(change.after.height_mm, unit=unit, digits=0 if unit == "mm" else 1)
    each = str(format_currency(abs(change.each.amount), str(change.each.currency), locale=locale))
    return _("At {height}: {stitches} stitches, {minutes} min, {each} each").format(
        height=height,
        stitches=f"{change.n_stitches:+,}".replace("-", "−"),
        minutes=f"{change.minutes_each:+.0f}".replace("-", "−"),
        each=("−" if change.each.amount < 0 else "+") + each,
    )
