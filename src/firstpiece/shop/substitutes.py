"""A blank in place of another: the question to the customer, and the answer, both kept."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.model import job_rules as rules
from firstpiece.model.buying import Yes
from firstpiece.model.customer import Consent
from firstpiece.model.stock import SupplyKind
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_needs import blank_key
from firstpiece.shop.stock_book import no_such_line
from firstpiece.store import purchases, stock
from firstpiece.store.customers import read_customer
from firstpiece.store.jobs import change_job, read_job

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from firstpiece.model.job import Job
    from firstpiece.model.stock import Cloth, StockItem


@dataclass(frozen=True, slots=True)
class Asked:
    """Where consent to a substitute stands, and the message to send when it is still open."""

    job: int
    line: int
    item: StockItem
    consent: Yes
    message: str


def ask_substitute(job: int, line: int, item: int) -> Asked:
    """Ask the customer whether another blank may stand in for a line's own.

    The question goes into the job's log and the job waits for the answer; a customer who said yes
    once for all is not asked again.

    Raises
    ------
    JobError
        When there is no such line, or the thing is no blank.
    """
    with open_book().write() as connection:
        current = read_job(connection, job)
        other = _checked(connection, current, line, item)
        consent = _standing(connection, current)
        purchases.put_substitute(connection, (job, line), item, answer=consent, at=now())
        message = ""
        if consent == Yes.ASKED:
            message = substitute_message(connection, current, line, other)
            change_job(connection, job, lambda j: rules.ask(j, message), at=now())
    return Asked(job, line, other, consent, message)


def answer_substitute(job: int, line: int, item: int, *, yes: bool) -> Asked:
    """Record what the customer answered; after a yes the other blank is needed instead."""
    with open_book().write() as connection:
        current = read_job(connection, job)
        other = _checked(connection, current, line, item)
        answer = Yes.GIVEN if yes else Yes.REFUSED
        asked = {(s.line, s.item) for s in purchases.read_substitutes(connection, job)}
        if (line, item) not in asked:
            raise JobError(
                _("this was never asked"),
                where=_("job {number}, line {line}").format(number=job, line=line),
                remedy=_("ask the customer first"),
            )
        purchases.put_substitute(connection, (job, line), item, answer=answer, at=now())
        if current.question:
            word = _("yes to {label}") if yes else _("no to {label}")
            said = word.format(label=other.label)
            change_job(connection, job, lambda j: rules.answer(j, said), at=now())
    return Asked(job, line, other, answer, "")


def substitute_message(connection: Connection, job: Job, line: int, other: StockItem) -> str:
    """Return the question in plain words, with what differs."""
    wanted = next(one for one in job.lines if one.number == line)
    key = blank_key(wanted, open_cards())
    own = stock.find_item(connection, key)
    label = own.label if own else key.words
    lines = [
        _("The {label} you ordered ({n} pieces) cannot be had in time.").format(
            label=label, n=wanted.count
        ),
        _("We have {other} in the same colour and size.").format(other=other.label),
        *_differences(own.cloth if own else None, other.cloth),
        _("May we use it instead? Please answer yes or no."),
    ]
    return "\n".join(lines)


def _differences(own: Cloth | None, other: Cloth | None) -> list[str]:
    if own is None or other is None:
        return []
    told = []
    if own.fibres != other.fibres and other.fibres:
        fibres = ", ".join(f"{share} % {name}" for name, share in other.fibres)
        told.append(_("It is made of {fibres}.").format(fibres=fibres))
    change = other.weight_gsm - own.weight_gsm
    if change and own.weight_gsm and other.weight_gsm:
        word = _("It is {n:.0f} g/m² heavier.") if change > 0 else _("It is {n:.0f} g/m² lighter.")
        told.append(word.format(n=abs(change)))
    if own.feel != other.feel:
        told.append(_("It feels {feel}.").format(feel=other.feel))
    return told or [_("Cloth, weight and feel are the same.")]


def _standing(connection: Connection, job: Job) -> Yes:
    if not job.customer:
        return Yes.ASKED
    consent = read_customer(connection, job.customer).consent
    return Yes.ONCE_FOR_ALL if Consent.SUBSTITUTES in consent else Yes.ASKED


def _checked(connection: Connection, job: Job, line: int, item: int) -> StockItem:
    if line not in {one.number for one in job.lines}:
        raise no_such_line(job, line)
    other = stock.read_item(connection, item)
    if other.key.kind != SupplyKind.BLANK:
        raise JobError(
            _("{label} is no blank").format(label=other.label),
            remedy=_("name a blank of the list of stock"),
        )
    return other
