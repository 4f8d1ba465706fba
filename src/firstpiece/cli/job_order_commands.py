"""``firstpiece job`` continued: what is ordered, its price, the customer's yes, ordering again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.job_commands import COMMANDS
from firstpiece.cli.record_options import DayType, due_option, job_argument, seen_option

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date


def line_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that describe a line of an order."""
    for option in reversed(
        (
            click.option("--on", "garment", metavar="CARD", help="Garment card."),
            click.option("--count", type=int, metavar="N", help="Pieces."),
            click.option("--color", metavar="TEXT", help="Colour, when the card leaves it open."),
            click.option("--size", metavar="TEXT", help="Size, as the supplier writes it."),
            click.option("--placement", metavar="TEXT",
                         help="Where the design goes; without it the garment's usual place."),
            click.option("--colorway", metavar="NAME", help="Colourway of the job."),
            click.option("--name", "names", multiple=True, metavar="TEXT",
                         help="Name to personalise, one a piece; may be given again."),
        )
    ):  # fmt: skip
        command = option(command)
    return command


@click.command("add-line", short_help=COMMANDS["add-line"][1])
@job_argument
@line_options
@seen_option
@json_option
def add_line(*, job: int, seen: int | None, as_json: bool, **fields: Any) -> None:
    """Add pieces to JOB's order."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.model.order import OrderLine
    from firstpiece.shop.cards import open_cards
    from firstpiece.shop.job_order import put_line

    given = {name: value for name, value in fields.items() if value}
    given.setdefault("garment", open_cards().default_garment)
    given["count"] = fields["count"] if fields["count"] is not None else 1
    answer_job(put_line(job, OrderLine(number=0, **given), expected=seen), as_json=as_json)


@click.command("change-line", short_help=COMMANDS["change-line"][1])
@job_argument
@click.argument("line", type=click.IntRange(1))
@line_options
@seen_option
@json_option
def change_line(*, job: int, line: int, seen: int | None, as_json: bool, **fields: Any) -> None:
    """Change LINE of JOB's order; what is not named stays."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_order import change_line as change

    changes = {k: v for k, v in fields.items() if v is not None and v != ()}
    answer_job(change(job, line, changes, expected=seen), as_json=as_json)


@click.command("remove-line", short_help=COMMANDS["remove-line"][1])
@job_argument
@click.argument("line", type=click.IntRange(1))
@seen_option
@json_option
def remove_line(*, job: int, line: int, seen: int | None, as_json: bool) -> None:
    """Take LINE out of JOB's order."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_order import remove_line as remove

    answer_job(remove(job, line, expected=seen), as_json=as_json)


free_option = click.option(
    "--free",
    type=click.IntRange(0),
    default=0,
    metavar="N",
    help="Of the pieces ordered, so many are not paid for.",
)
rush_option = click.option(
    "--rush", is_flag=True, help="Add the price card's share for hurried work."
)


@click.command("quote", short_help=COMMANDS["quote"][1])
@job_argument
@free_option
@rush_option
@json_option
def quote(*, job: int, free: int, rush: bool, as_json: bool) -> None:
    """Show the price of JOB line by line, with what it costs the shop, and the message to send.

    Nothing is recorded; 'firstpiece job offer' does that.
    """
    from firstpiece.model.quote import OrderTerms
    from firstpiece.shop.job_order import quote_job
    from firstpiece.shop.offer_message import write_offer

    quoted = quote_job(job, terms=OrderTerms(free, is_rush=rush))
    message = write_offer(quoted)
    if as_json:
        from firstpiece.files.result_json import quote_object

        told = {"job": job, **quote_object(quoted.quote), "message": message}
        print_json("job quote", told)
        return
    from firstpiece.cli.quote_text import print_quote

    print_quote(quoted.quote, message)


@click.command("offer", short_help=COMMANDS["offer"][1])
@job_argument
@click.option(
    "--until",
    type=DayType(),
    metavar="DAY",
    help="Last day the price holds; by the price card unless given.",
)
@free_option
@rush_option
@seen_option
@json_option
def offer(
    *, job: int, until: date | None, free: int, rush: bool, seen: int | None, as_json: bool
) -> None:
    """Price the newest design of JOB for the pieces ordered and record the offer."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.model.quote import OrderTerms
    from firstpiece.shop.job_order import offer_price

    terms = OrderTerms(free, is_rush=rush)
    answer_job(offer_price(job, valid_until=until, terms=terms, expected=seen), as_json=as_json)


@click.command("agree", short_help=COMMANDS["agree"][1])
@job_argument
@click.option("--by", "said_by", required=True, metavar="TEXT", help="Who said yes, and how.")
@click.option("--price", metavar="AMOUNT", help="Price agreed; without it the price offered.")
@seen_option
@json_option
def agree(*, job: int, said_by: str, price: str | None, seen: int | None, as_json: bool) -> None:
    """Record the yes to JOB: exactly which design, threads, garments and price."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_order import agree_job, read_price

    amount = read_price(price) if price is not None else None
    answer_job(agree_job(job, said_by=said_by, price=amount, expected=seen), as_json=as_json)


@click.command("reorder", short_help=COMMANDS["reorder"][1])
@job_argument
@due_option
@click.option("--title", default="", metavar="TEXT", help="Title; without it the same.")
@json_option
def reorder(*, job: int, due: date | None, title: str, as_json: bool) -> None:
    """Open a new job that repeats JOB: its agreed design, cards and lines, without the names."""
    from firstpiece.cli.record_text import answer_job
    from firstpiece.shop.job_order import reorder_job

    answer_job(reorder_job(job, due=due, title=title), as_json=as_json)
