"""What is ordered in a job: its lines, the price offered for them, the yes, and ordering again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal, InvalidOperation
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from moneyed import Money

from firstpiece.errors import InputError, JobError
from firstpiece.model import job_rules as rules
from firstpiece.model.order import count_pieces
from firstpiece.model.quote import BlankCount, OrderTerms
from firstpiece.shop.book import now, open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_book import act, read_job
from firstpiece.shop.job_design import prepare_revision
from firstpiece.shop.prepare import price_at
from firstpiece.store import jobs as job_rows

if TYPE_CHECKING:
    from datetime import date

    from firstpiece.model.job import Job
    from firstpiece.model.order import OrderLine
    from firstpiece.model.quote import Quote
    from firstpiece.shop.prepare import Prepared


def put_line(number: int, line: OrderLine, *, expected: int | None = None) -> Job:
    """Add a line to a job's order, or replace the one with its number.

    Raises
    ------
    CardError
        When there is no such garment card.
    JobError, StaleError
    """
    open_cards().garment(line.garment)
    return act(number, lambda job: rules.put_line(job, line), expected=expected)


def change_line(
    number: int, line: int, changes: dict[str, Any], *, expected: int | None = None
) -> Job:
    """Change fields of a line; see ``put_line``."""
    if "garment" in changes:
        open_cards().garment(changes["garment"])
    return act(number, lambda job: rules.change_line(job, line, changes), expected=expected)


def remove_line(number: int, line: int, *, expected: int | None = None) -> Job:
    """Take a line out of a job's order."""
    return act(number, lambda job: rules.remove_line(job, line), expected=expected)


def offer_price(
    number: int,
    *,
    valid_until: date | None = None,
    terms: OrderTerms | None = None,
    expected: int | None = None,
) -> Job:
    """Price the newest design for the pieces ordered and record the offer.

    Without a last day it holds as many days as the price card says. Of the pieces ordered
    ``terms.free_pieces`` are not paid for.

    Raises
    ------
    JobError
        When there is no design or no line yet, or every piece would be free.
    StaleError, CardError, StoreError
    """
    quoted = quote_job(number, terms=terms)
    card, quote = quoted.prepared.card, quoted.quote
    if valid_until is None and card.valid_days:
        valid_until = now().date() + timedelta(days=card.valid_days)

    def decide(current: Job) -> rules.Drafts:
        return rules.offer(current, quantity=quoted.quantity, net=quote.net, total=quote.total,
                           valid_until=valid_until, terms=terms, deposit=quote.deposit)  # fmt: skip

    # The price is for the lines read there; another action in between would make it wrong.
    return act(number, decide, expected=expected or quoted.job.version)


@dataclass(frozen=True, slots=True, eq=False)
class Quoted:
    """A job's order priced and not yet offered: what the customer sees, and what it costs."""

    job: Job
    quantity: int
    quote: Quote
    prepared: Prepared


def quote_job(number: int, *, terms: OrderTerms | None = None) -> Quoted:
    """Return the price of a job's newest design for the pieces ordered; nothing is written.

    Raises
    ------
    JobError
        When there is no design or no line yet, or every piece would be free.
    CardError, StoreError
    """
    job = read_job(number)
    if not job.lines:
        raise JobError(
            _("the order has no lines yet"),
            where=_("job {number}").format(number=number),
            remedy=_("add what is to be sewn"),
        )
    quantity = count_pieces(job.lines)
    terms = terms or OrderTerms()
    if terms.free_pieces >= quantity:
        raise JobError(
            _("{free} of {n} pieces cannot be free").format(free=terms.free_pieces, n=quantity),
            where=_("job {number}").format(number=number),
            remedy=_("leave at least one to be paid for"),
        )
    prepared = prepare_revision(job, quantity=quantity)
    terms = replace(terms, blanks=_blanks(job))
    quote = price_at(prepared, quantity - terms.free_pieces, terms)
    return Quoted(job, quantity, quote, prepared)


def _blanks(job: Job) -> tuple[BlankCount, ...]:
    """Return an order's garments in its order; each is paid for at its own card's cost."""
    cards = open_cards()
    counts: dict[str, int] = {}
    for line in job.lines:
        counts[line.garment] = counts.get(line.garment, 0) + line.count
    garments = ((cards.garment(name), n) for name, n in counts.items())
    return tuple(BlankCount(g.label, g.cost_minor, n) for g, n in garments)


def agree_job(
    number: int, *, said_by: str, price: Money | None = None, expected: int | None = None
) -> Job:
    """Record the customer's yes: exactly which design, threads, garments and price."""
    return act(
        number, lambda job: rules.agree(job, said_by=said_by, price=price), expected=expected
    )


def reorder_job(number: int, *, due: date | None = None, title: str = "") -> Job:
    """Return a new job that repeats a past one, with the cards and wishes that worked."""
    with open_book().write() as connection:
        past = job_rows.read_job(connection, number)
        drafts = rules.reorder(past, due=due, title=title)
        return job_rows.create_job(connection, drafts, at=now())


def read_price(text: str) -> Money:
    """Return an amount that a person typed, in the money of the shop's price card.

    Raises
    ------
    InputError
        When it is not an amount.
    """
    plain = text.strip().replace(",", "")
    try:
        amount = Decimal(plain)
    except InvalidOperation as fault:
        raise _bad_price(text) from fault
    if not amount.is_finite() or not 0 <= amount < Decimal(10) ** 9:
        raise _bad_price(text)
    return Money(amount, open_cards().prices().currency)


def _bad_price(text: str) -> InputError:
    return InputError(
        _("“{text}” is not a price").format(text=text[:40]),
        where=_("price"),
        remedy=_("write the amount alone, like 120.00"),
    )
