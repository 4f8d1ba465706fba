"""Stock, needs and orders set for reading on a terminal."""

from __future__ import annotations

from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.cli.answers import open_console
from firstpiece.cli.sentences import count_text, money_text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.table import Table

    from firstpiece.model.buying import BuyingList, Shortage, Substitute, SupplierOrder
    from firstpiece.model.stock import Holding, Movement, StockItem, Supplier
    from firstpiece.shop.stock_book import StockPage
    from firstpiece.shop.substitutes import Asked

MOST_SUBSTITUTES = 3


def print_holdings(held: Sequence[Holding]) -> None:
    """Print one line a thing."""
    table = _Table(_("item"), _("kind"), _("what"), _("there"), _("places"), _("supplier"),
                   _("pack"), right=(0, 3, 6))  # fmt: skip
    for holding in held:
        item = holding.item
        places = ", ".join(f"{lot.place}: {count_text(lot.count)}" for lot in holding.lots)
        table.add_row(str(item.id), str(item.key.kind), item.label, amount(item, holding.count),
                      places, item.supplier, str(item.pack))  # fmt: skip
    open_console().print(table.table)


def print_stock_page(page: StockPage) -> None:
    """Print a thing with its movements."""
    print_holdings((page.holding,))
    print_movements(page.movements, {page.holding.item.id: page.holding.item.label})


def print_movements(moves: Sequence[Movement], labels: Mapping[int, str]) -> None:
    """Print what became of things."""
    if not moves:
        open_console().print(_("Nothing was moved."), markup=False)
        return
    table = _Table(_("no."), _("when"), _("what"), _("where"), _("why"), _("change"), _("left"),
                   right=(0, 5, 6))  # fmt: skip
    for move in moves:
        job = _("job {n}").format(n=move.job) if move.job else ""
        why = " · ".join(text for text in (str(move.cause), job, move.reason) if text)
        table.add_row(str(move.number), f"{move.at.astimezone():%Y-%m-%d %H:%M}",
                      labels.get(move.item, str(move.item)), move.place, why,
                      f"{move.change:+,}".replace("-", "−"), count_text(move.after))  # fmt: skip
    open_console().print(table.table)


def print_supplier(supplier: Supplier) -> None:
    """Print a supplier."""
    days = ngettext("{n} day", "{n} days", supplier.lead_days).format(n=supplier.lead_days)
    cost = money_text(supplier.order_cost) if supplier.order_cost else _("not told")
    text = _("{name}: {days} from order to arrival; cost of an order {cost}")
    open_console().print(text.format(name=supplier.name, days=days, cost=cost), markup=False)


def print_needs(found: BuyingList) -> None:
    """Print needs job by job, then what is short and what could stand in."""
    console = open_console()
    wanted = [share for share in found.shares if share.need.open_count]
    if not wanted:
        console.print(_("No open job needs anything more."), markup=False)
        return
    table = _Table(_("job"), _("by"), _("what"), _("needed"), _("on shelf"), _("coming"),
                   _("missing"), right=(0, 3, 4, 5, 6))  # fmt: skip
    for share in wanted:
        need = share.need
        by = need.needed_by.isoformat() if need.needed_by else ""
        coming = f"{count_text(share.incoming)} ({share.arrives})" if share.incoming else ""
        table.add_row(str(need.job), by, need.key.words, count_text(need.open_count),
                      count_text(share.on_shelf), coming,
                      count_text(share.missing) if share.missing else "")  # fmt: skip
    console.print(table.table)
    for short in found.shortages:
        console.print()
        console.print(_short_line(short), style="bold", markup=False)
        for other in short.substitutes[:MOST_SUBSTITUTES]:
            console.print("  " + _substitute_line(other), markup=False)


def print_orders(
    orders: Sequence[SupplierOrder], nobodys: Sequence[Shortage] = (), *, is_bought: bool
) -> None:
    """Print the buying list, one part a supplier, then what nobody is known to sell."""
    console = open_console()
    for short in nobodys:
        console.print(_short_line(short), markup=False)
    if not orders and not nobodys:
        console.print(_("There is nothing to buy."), markup=False)
        return
    for order in orders:
        console.print()
        console.print(_order_line(order, is_bought=is_bought), style="bold", markup=False)
        table = _Table(_("item"), _("what"), _("packs"), _("units"), _("for jobs"), _("for stock"),
                       _("cost"), right=(0, 2, 3, 4, 5, 6))  # fmt: skip
        for line in order.lines:
            cost = money_text(line.cost) if line.cost is not None else ""
            table.add_row(str(line.item.id), line.item.label, str(line.packs),
                          count_text(line.units), amount(line.item, line.for_jobs),
                          amount(line.item, line.for_stock), cost)  # fmt: skip
        console.print(table.table)


def print_asked(asked: Asked) -> None:
    """Print where consent stands, and the message when it is to be sent."""
    console = open_console()
    text = _("{label} for job {job}, line {line}: {consent}")
    console.print(
        text.format(label=asked.item.label, job=asked.job, line=asked.line, consent=asked.consent),
        style="bold",
        markup=False,
    )
    if asked.message:
        console.print()
        console.print(asked.message, markup=False)


def amount(item: StockItem, count: int) -> str:
    """Return a count with its unit; thread in metres."""
    return _("{n} m").format(n=count_text(count)) if item.metres_each else count_text(count)


def _short_line(short: Shortage) -> str:
    need = short.need
    unit = _(" m") if need.key.kind.is_metred else ""
    text = _("Job {job}, {title}: {n}{unit} {thing} short").format(
        job=need.job, title=need.title, n=count_text(short.missing), unit=unit,
        thing=need.key.words,
    )  # fmt: skip
    by = _(" by {day}").format(day=need.needed_by) if need.needed_by else ""
    if short.arrives is None:
        return text + by + _("; no supplier is known")
    late = _(" (too late)") if short.is_late else ""
    return text + by + _("; bought today it comes {day}{late}").format(day=short.arrives, late=late)


def _substitute_line(other: Substitute) -> str:
    cloth = other.item.cloth
    fibres = ", ".join(f"{share} % {name}" for name, share in cloth.fibres) if cloth else ""
    parts = [
        _("item {n}, {label}: {count} free").format(
            n=other.item.id, label=other.item.label, count=count_text(other.available)
        ),
        fibres,
        f"{other.weight_change_gsm:+.0f} g/m²".replace("-", "−"),
        _("feels {feel}").format(feel=cloth.feel) if cloth else "",
        _("consent {consent}").format(consent=other.consent),
    ]
    return "; ".join(part for part in parts if part)


def _order_line(order: SupplierOrder, *, is_bought: bool) -> str:
    total = money_text(order.total) if order.total is not None else _("cost not known")
    word = _("Bought from {name}") if is_bought else _("Buy from {name}")
    by = _(", order by {day}").format(day=order.order_by) if order.order_by else ""
    return _("{what}: {total}, comes {day}{by}").format(
        what=word.format(name=order.supplier.name), total=total, day=order.arrives, by=by
    )


class _Table:
    """A table whose cells are taken literally."""

    def __init__(self, *headings: str, right: tuple[int, ...] = ()) -> None:
        from rich import box
        from rich.table import Table as RichTable

        self.table: Table = RichTable(
            box=box.SIMPLE_HEAD, padding=(0, 1), header_style="", show_edge=False
        )
        for place, heading in enumerate(headings):
            self.table.add_column(heading, justify="right" if place in right else "left")

    def add_row(self, *cells: str) -> None:
        from rich.text import Text

        self.table.add_row(*(Text(cell) for cell in cells))
