"""Stock on the page: what is there, what is short, what could stand in, what to buy from whom.

A blank's counts are shown by style, colour and size; everything else by kind.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError, JobError
from firstpiece.model.stock import Feel, SupplyKind
from firstpiece.shop import stock_book, stock_entry, substitutes
from firstpiece.web.faults import status_of
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.stock import Holding
    from firstpiece.web.site import Site

router = APIRouter()

SIZES = ("XXS", "XS", "S", "M", "L", "XL", "XXL", "2XL", "3XL", "4XL", "5XL")
"""Letters in the order of what they fit (common practice, no source); other sizes by name."""

MOST_SUBSTITUTES = 3


@dataclass(frozen=True, slots=True)
class Style:
    """A card of blanks in one colour, with what is there of each size."""

    card: str
    color: str
    sizes: tuple[Holding, ...]


@router.get("/stock")
def show_stock(site: SiteParts) -> Response:
    """Show what is there, what is short and what to buy."""
    return _stock_page(site)


@router.get("/stock/{item}")
def show_item(site: SiteParts, item: int) -> Response:
    """Show one thing, where it lies and what became of it."""
    return item_page(site, item)


@router.post("/stock/add", dependencies=[OurForm])
def add(site: SiteParts, typed: TypedForm) -> Response:
    """Put a thing on the list of stock."""
    try:
        held = stock_entry.add_entry(_read_entry(typed))
    except FirstpieceError as fault:
        return _stock_page(site, typed=typed, fault=fault)
    return RedirectResponse(f"/stock/{held.item.id}", 303)


@router.post("/stock/{item}/receive", dependencies=[OurForm])
def receive(site: SiteParts, item: int, typed: TypedForm) -> Response:
    """Take in what arrived."""
    try:
        units = typed.whole("units", _("what arrived"))
        stock_book.receive_stock(item, units, place=typed.text("place"))
    except FirstpieceError as fault:
        return item_page(site, item, typed=typed, fault=fault)
    return RedirectResponse(f"/stock/{item}", 303)


@router.post("/stock/{item}/count", dependencies=[OurForm])
def count(site: SiteParts, item: int, typed: TypedForm) -> Response:
    """Correct a count; a difference needs its reason."""
    try:
        counted = typed.whole("counted", _("the count"))
        place, because = typed.text("place"), typed.text("because")
        stock_book.count_stock(item, counted, place=place, because=because)
    except FirstpieceError as fault:
        return item_page(site, item, typed=typed, fault=fault)
    return RedirectResponse(f"/stock/{item}", 303)


@router.post("/stock/take", dependencies=[OurForm])
def take(site: SiteParts, typed: TypedForm) -> Response:
    """Take from the shelf what a job still needs."""
    try:
        stock_book.take_for_job(typed.whole("job", _("the job")))
    except FirstpieceError as fault:
        return _stock_page(site, typed=typed, fault=fault)
    return RedirectResponse("/stock#needed", 303)


@router.post("/stock/bought", dependencies=[OurForm])
def bought(site: SiteParts, typed: TypedForm) -> Response:
    """Record that what the list says was bought from a supplier."""
    try:
        stock_book.record_purchase(typed.needed("supplier", _("the supplier")))
    except FirstpieceError as fault:
        return _stock_page(site, typed=typed, fault=fault)
    return RedirectResponse("/stock#buy", 303)


@router.post("/stock/ask", dependencies=[OurForm])
def ask_for_consent(site: SiteParts, typed: TypedForm) -> Response:
    """Ask the customer whether another blank may stand in; the job shows the question."""
    try:
        asked = substitutes.ask_substitute(*_read_place(typed))
    except FirstpieceError as fault:
        return _stock_page(site, typed=typed, fault=fault)
    return RedirectResponse(f"/job/{asked.job}#asked" if asked.message else "/stock#short", 303)


@router.post("/stock/consent", dependencies=[OurForm])
def record_consent(site: SiteParts, typed: TypedForm) -> Response:
    """Record what the customer answered about another blank."""
    try:
        if (said := typed.text("said")) not in ("yes", "no"):
            raise InputError(_("the answer is yes or no"), remedy=_("load the page again"))
        substitutes.answer_substitute(*_read_place(typed), yes=said == "yes")
    except FirstpieceError as fault:
        return _stock_page(site, typed=typed, fault=fault)
    return RedirectResponse("/stock#short", 303)


def group_styles(held: Sequence[Holding]) -> tuple[Style, ...]:
    """Return blanks by card and colour in the list's order, their sizes from small to large."""
    groups: dict[tuple[str, str], list[Holding]] = {}
    for holding in held:
        groups.setdefault((holding.item.key.name, holding.item.key.color), []).append(holding)
    return tuple(
        Style(name, color, tuple(sorted(sizes, key=_size_place)))
        for (name, color), sizes in groups.items()
    )


def _size_place(holding: Holding) -> tuple[int, int, str]:
    size = holding.item.key.size
    known = SIZES.index(size.upper()) if size.upper() in SIZES else len(SIZES)
    return known, int(size) if size.isascii() and size.isdecimal() else 0, size


def _read_entry(typed: Typed) -> stock_entry.StockEntry:
    kind = typed.text("kind")
    if kind not in tuple(SupplyKind):
        raise InputError(_("there is no such kind of thing"), remedy=_("pick one of the list"))
    return stock_entry.StockEntry(
        kind,
        typed.needed("name", _("the card’s name")),
        color=typed.text("color"),
        size=typed.text("size"),
        supplier=typed.text("supplier"),
        pack=typed.whole("pack", _("the pack")) if typed.text("pack") else 1,
        each=typed.text("each") or None,
    )


def _read_place(typed: Typed) -> tuple[int, int, int]:
    """Return the job, the line and the thing of stock that a question is about."""
    job, line = typed.whole("job", _("the job")), typed.whole("line", _("the line"))
    return job, line, typed.whole("item", _("the thing"))


def _stock_page(
    site: Site, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    held, cards = stock_book.list_stock(), site.cards()
    labels = {n: cards.garment(n).label for n in cards.names("garments")}
    rest = [h for h in held if h.item.key.kind != SupplyKind.BLANK]
    return site.render.page(
        "shop_stock.html",
        status=status_of(fault) if fault else 200,
        place="/stock",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        styles=group_styles([h for h in held if h.item.key.kind == SupplyKind.BLANK]),
        labels=labels,
        kinds=[(kind, [h for h in rest if h.item.key.kind == kind]) for kind in SupplyKind],
        buying=stock_book.list_buying(),
        most_substitutes=MOST_SUBSTITUTES,
    )


def item_page(
    site: Site, item: int, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    """Return the page of a thing, with what was typed and why it was not done."""
    try:
        page = stock_book.read_stock(item)
    except JobError as unknown:
        raise UnknownJobError(unknown.what, where=unknown.where, remedy=unknown.remedy) from unknown
    return site.render.page(
        "shop_item.html",
        status=status_of(fault) if fault else 200,
        place="/stock",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        held=page.holding,
        suppliers=[supplier.name for supplier in stock_book.list_suppliers()],
        feels=[str(feel) for feel in Feel],
        item=page.holding.item,
        movements=page.movements,
    )
