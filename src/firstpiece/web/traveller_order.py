"""What the shop's store knows of a traveller's job, in words: its pieces, offer, yes and log.

Input: a job of the store with its log. Output: values a template only has to print. Imported by
pages of jobs that are in the store, since the store takes long to import.
"""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.web.shop_words import say_day, say_moment, say_money, tell_event
from firstpiece.web.traveller_parts import Part

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.model.job import Job
    from firstpiece.model.order import OrderLine
    from firstpiece.shop.job_book import JobPage
    from firstpiece.web.job_folder import Object

LOG_SHOWN = 8


def describe_order(page: JobPage, labels: Mapping[str, str]) -> Object:
    """Return the order's words; ``labels`` names garment cards."""
    job = page.job
    return {
        "pieces": [_piece_words(line, labels) for line in job.lines],
        "agreed": _agreed_words(job),
        "log": [
            (say_moment(event.at), event.kind.value, tell_event(event))
            for event in reversed(page.log[-LOG_SHOWN:])
        ],
        "parts": {name: part for name, part in _parts(job) if part is not None},
    }


def _piece_words(line: OrderLine, labels: Mapping[str, str]) -> str:
    told = [labels.get(line.garment, line.garment), line.color, line.size, line.placement]
    return _("{n} × {what}").format(n=line.count, what=", ".join(t for t in told if t))


def _agreed_words(job: Job) -> list[tuple[str, str]]:
    told = []
    if job.offer:
        words = ngettext("{money} for {n} piece", "{money} for {n} pieces", job.offer.quantity)
        words = words.format(money=say_money(job.offer.total), n=job.offer.quantity)
        if job.offer.valid_until:
            words += _(", holds until {day}").format(day=say_day(job.offer.valid_until))
        told.append((_("Offered"), words))
    if job.agreed:
        said_by = job.agreed.said_by or _("erased")
        told += [
            (_("The yes of"), f"{said_by}, {say_moment(job.agreed.at)}"),
            (_("Price"), say_money(job.agreed.price)),
            (
                _("Design"),
                _("revision {n}, plan {plan}").format(
                    n=job.agreed.revision, plan=job.agreed.plan_id
                ),
            ),
        ]
    return told


def _parts(job: Job) -> tuple[tuple[str, Part | None], ...]:
    """Return how sections stand that the order knows more of than the design does."""
    agree = None
    if job.agreed:
        agree = Part(_("Agreed with {name}").format(name=job.agreed.said_by or _("erased")))
    elif job.offer:
        agree = Part(_("Offered; the customer’s yes is waited for"), is_open=True, waits=True)
    return (("agree", agree),)
