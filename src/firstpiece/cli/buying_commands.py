"""``firstpiece stock`` continued: what jobs need, what to buy, consent to substitutes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.code_options import paper_option
from firstpiece.cli.stock_commands import COMMANDS

if TYPE_CHECKING:
    from firstpiece.model.buying import Shortage, SupplierOrder

offers_option = click.option(
    "--with-offers", is_flag=True, help="Also jobs that are not agreed yet, behind all that are."
)


@click.command("need", short_help=COMMANDS["need"][1])
@offers_option
@json_option
def need(*, with_offers: bool, as_json: bool) -> int:
    """Show what open jobs need, what is short for which job by which day, and what could stand in.

    The exit code is 1 when something will be late.
    """
    from firstpiece.shop.stock_book import list_buying

    found = list_buying(with_offers=with_offers)
    if as_json:
        from firstpiece.shop.stock_objects import buying_object

        print_json("need", buying_object(found))
    else:
        from firstpiece.cli.stock_text import print_needs

        print_needs(found)
    return int(any(short.is_late for short in found.shortages))


@click.command("buy", short_help=COMMANDS["buy"][1])
@click.option("--bought", metavar="SUPPLIER",
              help="Record that the list's order was placed with this supplier.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR",
              help="Also write the list as buying-list.pdf into this folder.")  # fmt: skip
@paper_option
@offers_option
@json_option
def buy(
    *, bought: str | None, out: Path | None, paper: str, with_offers: bool, as_json: bool
) -> None:
    """List what to buy, by supplier, in whole packs; record with --bought that it was bought."""
    from firstpiece.model.buying import unlisted
    from firstpiece.shop.stock_book import list_buying, record_purchase

    purchases: tuple[int, ...] = ()
    nobodys: tuple[Shortage, ...] = ()
    if bought:
        order, purchases = record_purchase(bought, with_offers=with_offers)
        orders: tuple[SupplierOrder, ...] = (order,)
    else:
        found = list_buying(with_offers=with_offers)
        orders, nobodys = found.orders, unlisted(found.shortages, found.unknown)
    files = _write_list(orders, nobodys, out, paper)
    if as_json:
        from firstpiece.shop.record_objects import value_object
        from firstpiece.shop.stock_objects import order_object

        made = [order_object(order) for order in orders]
        told = {
            "orders": made,
            "unlisted": value_object(nobodys),
            "purchases": list(purchases),
            "files": [str(f) for f in files],
        }
        print_json("buying list", told)
        return
    from firstpiece.cli.stock_text import print_orders

    print_orders(orders, nobodys, is_bought=bool(bought))
    for path in files:
        click.echo(str(path))


def _write_list(
    orders: tuple[SupplierOrder, ...], nobodys: tuple[Shortage, ...], out: Path | None, paper: str
) -> tuple[Path, ...]:
    """Write the list on paper when a folder is given."""
    from firstpiece.files.safe_write import write_together
    from firstpiece.shop.buying_paper import make_buying_paper

    if out is None:
        return ()
    return write_together(out, make_buying_paper(orders, unlisted=nobodys, paper=paper))


@click.command("substitute", short_help=COMMANDS["substitute"][1])
@click.argument("job", type=click.IntRange(1))
@click.argument("line", type=click.IntRange(1))
@click.argument("item", type=click.IntRange(1))
@click.option("--yes", "answer", flag_value="yes", help="The customer said yes.")
@click.option("--no", "answer", flag_value="no", help="The customer said no.")
@json_option
def substitute(*, job: int, line: int, item: int, answer: str | None, as_json: bool) -> None:
    """Ask whether stock ITEM may stand in for the blank of LINE of JOB, or record the answer.

    Without --yes or --no the question is recorded and printed, ready to send.
    """
    from firstpiece.shop.substitutes import answer_substitute, ask_substitute

    if answer is None:
        asked = ask_substitute(job, line, item)
    else:
        asked = answer_substitute(job, line, item, yes=answer == "yes")
    if as_json:
        from firstpiece.shop.stock_objects import asked_object

        print_json("substitute", asked_object(asked))
        return
    from firstpiece.cli.stock_text import print_asked

    print_asked(asked)
