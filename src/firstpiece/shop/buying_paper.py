"""The buying list on paper: what to buy from whom by when, with boxes to tick.

In: the orders of a buying list. Out: a PDF.
"""

from __future__ import annotations

from datetime import date
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import write_pdf
from firstpiece.paperwork.agreement import say_money
from firstpiece.paperwork.list_pages import draw_list
from firstpiece.paperwork.shop_lists import Letterhead, Purchase, SupplierList, buying_list
from firstpiece.shop.code_print import check_paper

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.buying import BuyLine, Shortage, SupplierOrder

FILE = "buying-list.pdf"


def make_buying_paper(
    orders: Sequence[SupplierOrder],
    *,
    unlisted: Sequence[Shortage] = (),
    paper: str = "A4",
    day: date | None = None,
) -> dict[str, bytes]:
    """Return the buying list as ``buying-list.pdf``, one part for each supplier.

    Parameters
    ----------
    orders : sequence of SupplierOrder
    unlisted : sequence of Shortage
        What is short and on no list of stock: it stands last, under nobody's name.
    paper : str
        A key of ``model.page.PAPER_MM``.
    day : datetime.date or None
        The day it is of; None takes today.

    Raises
    ------
    InputError
        When the paper size is not known.
    """
    check_paper(paper)
    today = (day or date.today()).isoformat()  # noqa: DTZ011 - the shop's own day
    suppliers = [
        SupplierList(
            order.supplier.name,
            tuple(_purchase(line) for line in order.lines),
            order.order_by.isoformat() if order.order_by else "",
            say_money(order.total) if order.total is not None else "",
        )
        for order in orders
    ]
    if unlisted:
        wanted = tuple(_wanted(short) for short in unlisted)
        suppliers.append(SupplierList(_("No supplier known yet"), wanted))
    head = Letterhead(_("To buy"), today, paper)
    return {FILE: write_pdf(draw_list(buying_list(suppliers, head), read_font_metrics()))}


def _wanted(short: Shortage) -> Purchase:
    unit = _(" m") if short.need.key.kind.is_metred else ""
    job = _("job {numbers}").format(numbers=short.need.job)
    return Purchase(item=short.need.key.words, amount=f"{short.missing}{unit}", purpose=job)


def _purchase(line: BuyLine) -> Purchase:
    packs = ""
    if line.item.pack > 1:
        packs = _(" ({packs} × {pack})").format(packs=line.packs, pack=line.item.pack)
    jobs = _("job {numbers}").format(numbers=", ".join(map(str, line.jobs))) if line.jobs else ""
    shelf = _("shelf") if line.for_stock else ""
    return Purchase(
        item=f"{line.item.label} · {_('item {n}').format(n=line.item.id)}",
        amount=f"{line.units}{packs}",
        purpose=", ".join(text for text in (jobs, shelf) if text),
        cost=say_money(line.cost) if line.cost is not None else "",
    )
