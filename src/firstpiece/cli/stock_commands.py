"""``firstpiece stock``: what is there, counted, received, taken; what jobs need; what to buy."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from firstpiece.cli.answers import json_option, print_json
from firstpiece.cli.code_options import code_option, paper_option
from firstpiece.cli.record_options import seen_option
from firstpiece.cli.root import LazyGroup

if TYPE_CHECKING:
    from firstpiece.model.stock import Holding

_HERE = "firstpiece.cli.stock_commands"
_BUYING = "firstpiece.cli.buying_commands"

KINDS = ("blank", "thread", "backing", "topping", "needle", "bobbin")
FEELS = ("stiff", "crisp", "smooth", "soft", "brushed")

COMMANDS: dict[str, tuple[str, str]] = {
    "list": (f"{_HERE}:list_", "List what is in stock."),
    "show": (f"{_HERE}:show", "Show one thing, where it lies and what became of it."),
    "add": (f"{_HERE}:add", "Put a thing on the list of stock."),
    "change": (f"{_HERE}:change", "Change how a thing is bought, or what its cloth is."),
    "suppliers": (f"{_HERE}:suppliers", "List suppliers and how long they take."),
    "supplier": (f"{_HERE}:supplier", "Keep a supplier: lead time and cost of an order."),
    "receive": (f"{_HERE}:receive", "Take in what arrived."),
    "count": (f"{_HERE}:count", "Correct a count; a difference needs its reason."),
    "take": (f"{_HERE}:take", "Take what a job needs from the shelf."),
    "need": (f"{_BUYING}:need", "Show what open jobs need and what is short."),
    "buy": (f"{_BUYING}:buy", "List what to buy, by supplier; record that it was bought."),
    "substitute": (f"{_BUYING}:substitute", "Ask for consent to another blank, or record it."),
    "labels": (f"{_HERE}:labels", "Write bag labels with codes for the blanks."),
}

HELP = """Keep the shop's stock of blanks, thread, backing, topping, needles and bobbins.

\b
  firstpiece stock supplier "the mill" --days 5
  firstpiece stock add blank tee-white --size M --supplier "the mill" --pack 6
  firstpiece stock receive 1 12 --place A1
  firstpiece stock need
  firstpiece stock buy
"""


@click.group(
    "stock",
    help=HELP,
    cls=LazyGroup,
    table=COMMANDS,
    short_help="Keep stock: what is there, needed, short and to be bought.",
    context_settings={"max_content_width": 100},
)
def stock() -> None:
    """Hold the commands."""


item_argument = click.argument("item", type=click.IntRange(1))
place_option = click.option("--place", default="", metavar="TEXT", help="Where it lies.")
because_option = click.option(
    "--because", default="", metavar="TEXT", help="Why, when the count differs."
)


@click.command("list", short_help=COMMANDS["list"][1])
@click.option("--kind", type=click.Choice(KINDS), help="Only this kind.")
@json_option
def list_(*, kind: str | None, as_json: bool) -> None:
    """List what is in stock, with places, pack and supplier."""
    from firstpiece.model.stock import SupplyKind
    from firstpiece.shop.stock_book import list_stock

    held = list_stock(SupplyKind(kind) if kind else None)
    if as_json:
        from firstpiece.shop.stock_objects import holding_object

        print_json("stock", {"items": [holding_object(h) for h in held]})
        return
    from firstpiece.cli.stock_text import print_holdings

    print_holdings(held)


@click.command("show", short_help=COMMANDS["show"][1])
@item_argument
@json_option
def show(*, item: int, as_json: bool) -> None:
    """Show ITEM: where it lies, how it is bought, and its newest movements."""
    from firstpiece.shop.stock_book import read_stock

    page = read_stock(item)
    if as_json:
        from firstpiece.shop.stock_objects import holding_object, movements_object

        moves = movements_object(page.movements)
        print_json("stock item", {**holding_object(page.holding), "movements": moves})
        return
    from firstpiece.cli.stock_text import print_stock_page

    print_stock_page(page)


@click.command("add", short_help=COMMANDS["add"][1])
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("name")
@click.option("--color", default="", metavar="TEXT",
              help="Colour; a blank's own card tells it when left out.")  # fmt: skip
@click.option("--size", default="", metavar="TEXT", help="Size, as the supplier writes it.")
@click.option("--label", default="", metavar="TEXT", help="What people call it.")
@click.option("--supplier", default="", metavar="NAME", help="Who it is bought from.")
@click.option("--pack", type=click.IntRange(1), default=1, show_default=True, metavar="N",
              help="Pieces, cones or bobbins to a pack.")  # fmt: skip
@click.option("--each", metavar="AMOUNT", help="Cost of a piece, cone or bobbin.")
@click.option("--metres", type=click.IntRange(1), metavar="N",
              help="Metres on a full cone or bobbin.")  # fmt: skip
@click.option("--fibres", default="", metavar="TEXT",
              help="Of a blank: 'cotton 60, polyester 40'.")  # fmt: skip
@click.option("--weight", type=click.FloatRange(0), default=0.0, metavar="N",
              help="Of a blank's cloth, in g/m².")  # fmt: skip
@click.option("--feel", type=click.Choice(FEELS), default="smooth", show_default=True,
              help="How a blank's cloth feels.")  # fmt: skip
@click.option("--barcode", default="", metavar="TEXT", help="Code on the supplier's own label.")
@json_option
def add(*, as_json: bool, **fields: Any) -> None:
    """Put a thing on the list of stock: KIND is blank, thread, backing, topping, needle or bobbin.

    NAME is its card (apron-natural, poly-40, tearaway-60), "film" for topping, "bobbin" for bobbin
    thread, or a needle's size. Nothing of it is there until it is received or counted.
    """
    from firstpiece.shop.stock_entry import StockEntry, add_entry

    answer_holding(add_entry(StockEntry(**fields)), as_json=as_json)


@click.command("change", short_help=COMMANDS["change"][1])
@item_argument
@click.option("--label", metavar="TEXT", help="What people call it.")
@click.option("--supplier", metavar="NAME", help="Who it is bought from.")
@click.option("--pack", type=click.IntRange(1), metavar="N",
              help="Pieces, cones or bobbins to a pack.")  # fmt: skip
@click.option("--each", metavar="AMOUNT", help="Cost of a piece, cone or bobbin.")
@click.option("--fibres", metavar="TEXT", help="Of a blank: 'cotton 60, polyester 40'.")
@click.option("--weight", type=click.FloatRange(0), metavar="N",
              help="Of a blank's cloth, in g/m².")  # fmt: skip
@click.option("--feel", type=click.Choice(FEELS), help="How a blank's cloth feels.")
@click.option("--barcode", metavar="TEXT", help="Code on the supplier's own label.")
@seen_option
@json_option
def change(*, item: int, seen: int | None, as_json: bool, **fields: Any) -> None:
    """Change how ITEM is bought, or what its cloth is; what is not named stays."""
    from firstpiece.shop.stock_book import read_stock
    from firstpiece.shop.stock_entry import ItemChange, change_entry

    change_entry(item, ItemChange(**fields), expected=seen)
    answer_holding(read_stock(item).holding, as_json=as_json)


@click.command("suppliers", short_help=COMMANDS["suppliers"][1])
@json_option
def suppliers(*, as_json: bool) -> None:
    """List suppliers by name, with lead time and the cost of an order."""
    from firstpiece.shop.stock_book import list_suppliers

    found = list_suppliers()
    if as_json:
        from firstpiece.shop.record_objects import value_object

        print_json("suppliers", {"suppliers": value_object(found)})
        return
    from firstpiece.cli.stock_text import print_supplier

    for one in found:
        print_supplier(one)


@click.command("supplier", short_help=COMMANDS["supplier"][1])
@click.argument("name")
@click.option("--days", type=click.IntRange(0, 730), default=7, show_default=True, metavar="N",
              help="From order to arrival.")  # fmt: skip
@click.option("--order-cost", metavar="AMOUNT", help="What placing one order costs.")
@click.option("--notes", default="", metavar="TEXT", help="A remark.")
@json_option
def supplier(*, name: str, days: int, order_cost: str | None, notes: str, as_json: bool) -> None:
    """Keep a supplier under NAME, new or changed."""
    from firstpiece.model.stock import Supplier
    from firstpiece.shop.job_order import read_price
    from firstpiece.shop.stock_book import put_supplier

    cost = read_price(order_cost) if order_cost else None
    kept = Supplier(name, days, cost, notes)
    put_supplier(kept)
    if as_json:
        from firstpiece.shop.record_objects import value_object

        print_json("supplier", value_object(kept))
        return
    from firstpiece.cli.stock_text import print_supplier

    print_supplier(kept)


@click.command("receive", short_help=COMMANDS["receive"][1])
@item_argument
@click.argument("units", type=int)
@place_option
@json_option
def receive(*, item: int, units: int, place: str, as_json: bool) -> None:
    """Take in UNITS pieces, cones or bobbins of ITEM; what was bought is settled by it."""
    from firstpiece.shop.stock_book import receive_stock

    answer_holding(receive_stock(item, units, place=place), as_json=as_json)


@click.command("count", short_help=COMMANDS["count"][1])
@item_argument
@click.argument("counted", type=int)
@place_option
@because_option
@json_option
def count(*, item: int, counted: int, place: str, because: str, as_json: bool) -> None:
    """Correct ITEM to the pieces, or metres, COUNTED at a place."""
    from firstpiece.shop.stock_book import count_stock

    answer_holding(count_stock(item, counted, place=place, because=because), as_json=as_json)


@click.command("take", short_help=COMMANDS["take"][1])
@click.argument("job", type=click.IntRange(1))
@because_option
@json_option
def take(*, job: int, because: str, as_json: bool) -> None:
    """Take the blanks, backing and film that JOB still needs from the shelf.

    Thread is used up as pieces are recorded as sewn.
    """
    from firstpiece.shop.stock_book import list_stock, take_for_job

    moves = take_for_job(job, because=because)
    if as_json:
        from firstpiece.shop.stock_objects import movements_object

        print_json("stock taken", {"job": job, "movements": movements_object(moves)})
        return
    from firstpiece.cli.stock_text import print_movements

    print_movements(moves, {h.item.id: h.item.label for h in list_stock()})


@click.command("labels", short_help=COMMANDS["labels"][1])
@click.option("--out", default=".", metavar="DIR", help="Folder for bag-labels.pdf.")
@paper_option
@code_option
@json_option
def labels(*, out: str, as_json: bool, **how: str) -> None:
    """Write a label with a code for the bag or box of every blank."""
    from pathlib import Path

    from firstpiece.shop.code_print import CodePrint, write_bag_labels

    files = write_bag_labels(Path(out), how=CodePrint(**how))
    if as_json:
        print_json("bag labels", {"files": [str(path) for path in files]})
    else:
        click.echo("\n".join(str(path) for path in files))


def answer_holding(holding: Holding, *, as_json: bool) -> None:
    """Answer an action with the thing after it."""
    if as_json:
        from firstpiece.shop.stock_objects import holding_object

        print_json("stock item", holding_object(holding))
        return
    from firstpiece.cli.stock_text import print_holdings

    print_holdings((holding,))
