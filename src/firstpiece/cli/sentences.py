"""Figures, findings and prices as a shop reads them aloud; no colours, no layout."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.model.finding import Finding
    from firstpiece.model.measured import Figure

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


def findings_headline(findings: tuple[Finding, ...]) -> str:
    """Return how many findings there are and how grave the gravest is."""
    if not findings:
        return _("Nothing stands out: it can be sewn as it is.")
    n_blocking = sum(f.severity.name == "BLOCK" for f in findings)
    text = ngettext("{n} finding", "{n} findings", len(findings)).format(n=len(findings))
    if n_blocking:
        return _("{text}; {n} must be answered before sewing.").format(text=text, n=n_blocking)
    return _("{text}; none forbids sewing.").format(text=text)
