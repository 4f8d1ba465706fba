"""The message that goes with a price: what it is for, what it costs, until when, in plain words."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from babel.numbers import format_currency

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.shop.job_order import Quoted


def write_offer(quoted: Quoted) -> str:
    """Return the message, ready to paste into any chat or mail.

    It says nothing of what the shop pays or keeps.
    """
    job, quote = quoted.job, quoted.quote
    width, height = quoted.prepared.size_mm
    pieces = ngettext("{n} piece", "{n} pieces", quoted.quantity).format(n=quoted.quantity)
    lines = [
        _("For “{title}”: {pieces}, the design {width:.0f} × {height:.0f} mm.").format(
            title=job.title, pieces=pieces, width=width, height=height
        ),
        "",
        *(
            _("{label}: {amount}").format(label=line.label, amount=_money(line.amount))
            for line in quote.lines
        ),
    ]
    if quote.tax:
        lines.append(_("Tax: {amount}").format(amount=_money(quote.tax)))
    lines += [
        _("In all: {amount}, which is {each} a piece before tax.").format(
            amount=_money(quote.total), each=_money(quote.each)
        ),
        "",
    ]
    if quote.deposit is not None:
        lines.append(
            _("We begin when {amount} of it has been paid.").format(amount=_money(quote.deposit))
        )
    if quoted.prepared.card.valid_days:
        days = quoted.prepared.card.valid_days
        lines.append(
            ngettext(
                "This price holds for {n} day.", "This price holds for {n} days.", days
            ).format(n=days)
        )
    lines.append(_("Shall we sew it? A yes is enough."))
    return "\n".join(lines) + "\n"


def _money(money: Money) -> str:
    return str(format_currency(money.amount, str(money.currency), locale="en_GB"))
