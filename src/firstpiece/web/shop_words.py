"""The shop's records as the page words them: money, days, log entries, what a job waits for.

Input: model values. Output: short texts and, for a job, the one action that moves it on.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.model.design import money_from
from firstpiece.model.job import JobState, Waiting
from firstpiece.units import needle_trade_number

if TYPE_CHECKING:
    from datetime import date, datetime

    from moneyed import Money

    from firstpiece.model.buying import Substitute
    from firstpiece.model.job_event import JobEvent
    from firstpiece.model.stock import StockItem

TOLD_WORDS = ("title", "text", "reason", "said_by", "name", "message")
TOLD_FIGURES = ("state", "name", "plan_id", "due", "number")
"""What a log shows of an entry; the first figure that is there is enough."""

GROUP = "\u202f"


@dataclass(frozen=True, slots=True)
class NextAction:
    """The action that moves a job on: a place on the page, or a state it is moved to."""

    label: str
    place: str = ""
    state: str = ""


def next_action(waiting: Waiting) -> NextAction | None:
    """Return what a person does about what a job waits for; None when it waits for nothing."""
    return {
        Waiting.DRAFT: NextAction(_("Draft the design"), place="design"),
        Waiting.PIECES: NextAction(_("List the pieces"), place="order"),
        Waiting.PRICE: NextAction(_("Offer a price"), place="price"),
        Waiting.ANSWER: NextAction(_("Record the answer"), place="asked"),
        Waiting.YES: NextAction(_("Record the yes"), place="agreed"),
        Waiting.BLANKS: NextAction(_("The blanks are here"), state=JobState.SUPPLIED),
        Waiting.SEWING: NextAction(_("Sewing has begun"), state=JobState.SEWING),
        Waiting.FINISHING: NextAction(_("It is handed over"), state=JobState.DONE),
    }.get(waiting)


def say_money(money: Money) -> str:
    """Return money as its currency writes it."""
    from babel.numbers import format_currency

    return str(format_currency(money.amount, str(money.currency), locale="en_GB"))


def say_day(day: date) -> str:
    """Return a day with its weekday, held together ("Fri 5 Sep 2031")."""
    return f"{day:%a} {day.day} {day:%b %Y}".replace(" ", "\u00a0")


def say_moment(at: datetime) -> str:
    """Return a moment in the reader's own time, to the minute."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}".replace(" ", "\u00a0")


def say_amount(count: int, item: StockItem) -> str:
    """Return a count with its unit; thread in metres."""
    number = f"{count:,}".replace(",", GROUP).replace("-", "−")
    return _("{n} m").format(n=number).replace(" ", "\u00a0") if item.metres_each else number


def tell_event(event: JobEvent) -> str:
    """Return the words of a log entry, else the figure that matters most."""
    words = [str(event.words[name]) for name in TOLD_WORDS if event.words.get(name)]
    if words:
        return " · ".join(words)
    figures: dict[str, Any] = dict(event.figures)
    if "total" in figures:
        return say_money(money_from(figures["total"]))
    if "count" in figures:
        parts = (figures["garment"], figures["color"], figures["size"])
        return _("{n} × {what}").format(n=figures["count"], what=" ".join(p for p in parts if p))
    return next((str(figures[name]) for name in TOLD_FIGURES if name in figures), "")


def say_difference(other: Substitute) -> str:
    """Return how a substitute differs from what was ordered."""
    parts = []
    if other.fibre_distance:
        parts.append(_("{n:.0f} % other fibre").format(n=100 * other.fibre_distance))
    if other.weight_change_gsm:
        word = (
            _("{n:.0f} g/m² heavier") if other.weight_change_gsm > 0 else _("{n:.0f} g/m² lighter")
        )
        parts.append(word.format(n=abs(other.weight_change_gsm)))
    if other.feel_steps and other.item.cloth is not None:
        parts.append(_("feels {feel}").format(feel=other.item.cloth.feel))
    return ", ".join(parts) or _("the same cloth, weight and feel")


def say_fibres(fibres: tuple[tuple[str, int], ...]) -> str:
    """Return fibres as they are typed ("cotton 60, polyester 40")."""
    return ", ".join(f"{name} {share}" for name, share in fibres)


FILTERS = {
    "needle": needle_trade_number,
    "fibres": say_fibres,
    "cash": say_money,
    "day": say_day,
    "moment": say_moment,
    "amount": say_amount,
    "told": tell_event,
    "difference": say_difference,
}
"""Filters of the shop's templates."""
