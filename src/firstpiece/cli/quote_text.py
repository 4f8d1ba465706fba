"""A quote set for reading on a terminal: what the customer sees, then what the shop sees."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.cli.answers import open_console
from firstpiece.cli.sentences import money_text

if TYPE_CHECKING:
    from firstpiece.model.quote import Quote


def print_quote(quote: Quote, message: str) -> None:
    """Print the lines with their sums, cost and margin, and the message that goes with them."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    console = open_console()
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1), header_style="", show_edge=False)
    for heading, right in ((_("what"), False), (_("number"), True), (_("each"), True),
                           (_("amount"), True)):  # fmt: skip
        table.add_column(heading, justify="right" if right else "left")
    for line in quote.lines:
        cells = (line.label, str(line.count), money_text(line.each), money_text(line.amount))
        table.add_row(*(Text(cell) for cell in cells))
    sums = [(_("before tax"), quote.net), (_("tax"), quote.tax), (_("in all"), quote.total)]
    if quote.deposit is not None:
        sums.append((_("beforehand"), quote.deposit))
    for label, money in sums:
        table.add_row(Text(label), "", "", Text(money_text(money)))
    console.print(table)
    told = [_("It costs us {cost}, so {share:.1%} stays.").format(
        cost=money_text(quote.cost), share=float(quote.margin)
    )]  # fmt: skip
    if quote.free_cost is not None:
        text = _("The {n} free pieces cost us {money}.")
        told.append(text.format(n=quote.free_pieces, money=money_text(quote.free_cost)))
    console.print(" ".join(told), markup=False, highlight=False)
    console.print()
    console.print(message.rstrip(), markup=False, highlight=False, soft_wrap=True)
