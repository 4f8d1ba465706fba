"""Suppliers on the page, and how each thing is bought: from whom, in what packs, at what cost."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError
from firstpiece.model.stock import Feel, Supplier
from firstpiece.shop import stock_book, stock_entry
from firstpiece.shop.job_order import read_price
from firstpiece.web.faults import status_of
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.shop_stock_pages import item_page
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.web.site import Site

router = APIRouter()

LONGEST_DAYS = 730


@router.get("/suppliers")
def show_suppliers(site: SiteParts) -> Response:
    """List suppliers with what is bought from each."""
    return _page(site)


@router.post("/suppliers/put", dependencies=[OurForm])
def put_supplier(site: SiteParts, typed: TypedForm) -> Response:
    """Keep a supplier, new or changed."""
    try:
        days = typed.whole("days", _("the days"))
        if days > LONGEST_DAYS:
            raise InputError(
                _("{n} days is too long").format(n=days),
                remedy=_("give at most {most}").format(most=LONGEST_DAYS),
            )
        cost = read_price(typed.text("order_cost")) if typed.text("order_cost") else None
        name = typed.needed("name", _("the name"))
        stock_book.put_supplier(Supplier(name, days, cost, typed.text("notes")))
    except FirstpieceError as fault:
        return _page(site, typed=typed, fault=fault)
    return RedirectResponse("/suppliers", 303)


@router.post("/stock/{item}/change", dependencies=[OurForm])
def change_item(site: SiteParts, item: int, typed: TypedForm) -> Response:
    """Change how a thing is bought."""
    try:
        weight = typed.number("weight", _("the weight")) if typed.text("weight") else None
        feel = typed.text("feel") or None
        if feel and feel not in tuple(Feel):
            raise InputError(_("there is no such feel"), remedy=_("pick one of the list"))
        is_blank = "fibres" in typed.words
        change = stock_entry.ItemChange(
            label=typed.text("label"),
            supplier=typed.text("supplier"),
            pack=typed.whole("pack", _("the pack")),
            each=typed.text("each"),
            barcode=typed.text("barcode"),
            fibres=typed.text("fibres") if is_blank else None,
            weight=weight,
            feel=feel,
        )
        stock_entry.change_entry(item, change, expected=typed.seen)
    except FirstpieceError as fault:
        return item_page(site, item, typed=typed, fault=fault)
    return RedirectResponse(f"/stock/{item}", 303)


def _page(
    site: Site, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    held = stock_book.list_stock()
    suppliers = stock_book.list_suppliers()
    known = {supplier.name for supplier in suppliers}
    others = sorted({h.item.supplier for h in held} - known - {""})
    return site.render.page(
        "shop_suppliers.html",
        status=status_of(fault) if fault else 200,
        place="/stock",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        suppliers=[(s, [h.item for h in held if h.item.supplier == s.name]) for s in suppliers],
        others=others,
    )
