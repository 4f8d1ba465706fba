"""Figures, findings and prices as a shop reads them aloud; no colours, no layout."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.model.design import RevisionChange
    from firstpiece.model.finding import Finding
    from firstpiece.model.measured import Figure
    from firstpiece.model.quote import Quote
    from firstpiece.shop.compare import AreaChange

SEVERITY_WORDS = {"BLOCK": "do not sew", "WARN": "look", "NOTE": "note"}


def count_text(n: int) -> str:
    """Return a count with thousands set apart."""
    return f"{n:,}"


def size_text(size_mm: tuple[float, float]) -> str:
    """Return width × height."""
    return _("{width:.0f} × {height:.0f} mm").format(width=size_mm[0], height=size_mm[1])


def band_text(figure: Figure, *, digits: int = 0, unit: str = "") -> str:
    """Return the middle of a figure, and its band when it has one: ``14 min (11 to 18)``."""
    band = figure.band
    low, middle, high = (f"{v:.{digits}f}" for v in (band.p05, band.p50, band.p95))
    middle = f"{middle} {unit}".strip()
    if low == high:
        return middle
    return _("{middle} ({low} to {high})").format(middle=middle, low=low, high=high)


def minutes_text(figure: Figure) -> str:
    """Return sewing minutes with their band."""
    return band_text(figure, unit=_("min"))


def metres_text(figure: Figure) -> str:
    """Return metres of thread with their band."""
    return band_text(figure, digits=1, unit=_("m"))


def money_text(money: Money) -> str:
    """Return money as its currency writes it."""
    from babel.numbers import format_currency

    return str(format_currency(money.amount, str(money.currency), locale="en_GB"))


def price_text(quote: Quote) -> str:
    """Return what the order costs and what of it stays with the shop."""
    margin, total = float(quote.margin), money_text(quote.total)
    if quote.quantity == 1:
        return _("{total} for one piece, margin {margin:.0%}").format(total=total, margin=margin)
    return _("{each} each for {n}, {total} in all, margin {margin:.0%}").format(
        each=money_text(quote.each), n=quote.quantity, total=total, margin=margin
    )


def change_text(change: RevisionChange) -> str:
    """Return what one revision has more than another: ``+50,000 stitches, +£3.20 each``."""
    parts = [
        _("{mm:+g} mm high").format(mm=round(change.height_mm, 1)),
        _("{n:+,} stitches").format(n=change.n_stitches),
        _("{minutes:+.1f} min").format(minutes=change.minutes),
        _("{n:+d} threads").format(n=change.n_threads),
    ]
    if change.each is not None:
        sign = "+" if change.each.amount >= 0 else ""
        parts.append(_("{money} each").format(money=sign + money_text(change.each)))
    return _("Revision {after} against {before}: {parts}").format(
        after=change.after, before=change.before, parts=", ".join(parts)
    )


def area_change_text(change: AreaChange) -> str:
    """Return what changed in one area, and planning's reason for how it is sewn now."""
    what = "; ".join(change.changes)
    if not change.reason:
        return _("The {thread} area: {what}.").format(thread=change.thread, what=what)
    return _("The {thread} area: {what}. Why: {reason}").format(
        thread=change.thread, what=what, reason=change.reason
    )


def findings_headline(findings: tuple[Finding, ...]) -> str:
    """Return how many findings there are and how grave the gravest is."""
    if not findings:
        return _("Nothing stands out: it can be sewn as it is.")
    n_blocking = sum(f.severity.name == "BLOCK" for f in findings)
    text = ngettext("{n} finding", "{n} findings", len(findings)).format(n=len(findings))
    if n_blocking:
        return _("{text}; {n} must be answered before sewing.").format(text=text, n=n_blocking)
    return _("{text}; none forbids sewing.").format(text=text)
