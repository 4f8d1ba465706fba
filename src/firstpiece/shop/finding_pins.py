"""Findings as numbered pins, each remedy with its mark and, when asked, its price.

Input: a request and what came of it. Output: pins in the order of proof and run sheet, and the same
as plain objects.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.errors import InputError
from firstpiece.files.result_json import findings_list, money_object
from firstpiece.model.finding import rank_findings
from firstpiece.shop.remedies import price_remedies

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.finding import Finding
    from firstpiece.shop.prepare import Prepared, PrepareRequest, Report
    from firstpiece.shop.remedies import PricedRemedy
    from firstpiece.store.results import ResultShelf


@dataclass(frozen=True, slots=True, eq=False)
class Pin:
    """A finding under its number; ``priced`` has one entry per remedy, or none when not priced."""

    number: int
    finding: Finding
    priced: tuple[PricedRemedy, ...] = ()


def pins_of(prepared: Prepared) -> tuple[Pin, ...]:
    """Return a job's findings under their numbers, none of them priced."""
    ranked = rank_findings(prepared.findings)
    return tuple(Pin(number, finding) for number, finding in enumerate(ranked, start=1))


def price_pins(
    request: PrepareRequest,
    numbers: Sequence[int],
    *,
    prepared: Prepared,
    shelf: ResultShelf | None = None,
    report: Report | None = None,
) -> tuple[Pin, ...]:
    """Return pins with every remedy planned, forecast and priced.

    Parameters
    ----------
    request : PrepareRequest
    numbers : sequence of int
        Which findings.
    prepared : Prepared
        What came of the request.
    shelf : ResultShelf or None
    report : callable or None
        ``report(fraction, words)`` before each; may raise to stop.

    Raises
    ------
    InputError
        When there is no finding of a number.
    """
    pins = pins_of(prepared)
    found = []
    for place, number in enumerate(numbers):
        if not 1 <= number <= len(pins):
            raise InputError(
                _("there is no finding {pin}").format(pin=number),
                where=_("finding"),
                remedy=_("choose 1 to {n}").format(n=len(pins)),
            )
        if report is not None:
            words = _("Trying the remedies of finding {n}").format(n=number)
            report(place / len(numbers), words)
        finding = pins[number - 1].finding
        priced = price_remedies(request, finding, prepared=prepared, shelf=shelf)
        found.append(Pin(number, finding, priced))
    return tuple(found)


def mark(number: int, place: int) -> str:
    """Return what stands for a remedy: the finding's number and the remedy's letter."""
    return f"{number}{chr(ord('a') + place)}"


def pin_object(pin: Pin) -> dict[str, Any]:
    """Return a pin as a plain object; what a remedy changes is per piece."""
    whole: dict[str, Any] = findings_list([pin.finding])[0]
    whole["pin"] = pin.number
    for place, remedy in enumerate(whole["remedies"]):
        remedy["mark"] = mark(pin.number, place)
        if pin.priced:
            remedy.update(_price_object(pin.priced[place]))
    return whole


def _price_object(priced: PricedRemedy) -> dict[str, Any]:
    return {
        "by_hand": priced.by_hand,
        "answers": priced.answers,
        "stitches": priced.stitches,
        "minutes": round(priced.minutes, 2),
        "each": money_object(priced.each),
        "left": None if priced.left is None else round(priced.left, 4),
    }
