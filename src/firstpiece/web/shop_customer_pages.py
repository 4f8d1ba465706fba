"""Customers on the page: the list, one with their jobs, changed, handed out, erased.

A form carries the version its page showed; erasing asks for the name once more.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError, JobError, StaleError
from firstpiece.model.customer import Consent, Customer
from firstpiece.shop import customers, job_book
from firstpiece.store.jobs import JobFilter
from firstpiece.web.faults import status_of
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.web.site import Site

router = APIRouter()

SHOWN_AT_ONCE = 100


@router.get("/customers")
def show_customers(site: SiteParts, after: str = "") -> Response:
    """List customers by name."""
    return _list_page(site, after=after)


@router.post("/customers/new", dependencies=[OurForm])
def new_customer(site: SiteParts, typed: TypedForm) -> Response:
    """Open a customer."""
    try:
        made = customers.open_customer(
            Customer(0, typed.text("name"), typed.text("writes_by"), typed.text("notes"),
                     _read_consent(typed))
        )  # fmt: skip
    except FirstpieceError as fault:
        return _list_page(site, typed=typed, fault=fault)
    return RedirectResponse(f"/customer/{made.id}", 303)


@router.get("/customer/{number}")
def show_customer(site: SiteParts, number: int) -> Response:
    """Show a customer with their jobs."""
    return _page(site, number)


@router.post("/customer/{number}/change", dependencies=[OurForm])
def change_customer(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Change what is kept about a customer."""
    try:
        changes = {
            "name": typed.text("name"),
            "writes_by": typed.text("writes_by"),
            "notes": typed.text("notes"),
            "consent": _read_consent(typed),
        }
        customers.change_customer(number, changes, expected=typed.seen)
    except FirstpieceError as fault:
        return _page(site, number, typed=typed, fault=fault)
    return RedirectResponse(f"/customer/{number}", 303)


@router.get("/customer/{number}/kept.zip")
def hand_out(number: int) -> Response:
    """Return everything kept about a customer in one file."""
    _known(number)
    name = quote(f"customer-{number}.zip")
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{name}"}
    return Response(
        customers.export_customer(number), media_type="application/zip", headers=headers
    )


@router.post("/customer/{number}/erase", dependencies=[OurForm])
def erase(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Erase a customer for good once the name was typed."""
    try:
        customer = _known(number)
        if typed.text("again").casefold() != customer.name.casefold():
            raise InputError(
                _("the name is not the one above, so nobody was erased"),
                remedy=_("type it letter by letter"),
            )
        customers.erase_customer(number, expected=typed.seen)
    except UnknownJobError:
        raise
    except FirstpieceError as fault:
        return _page(site, number, typed=typed, fault=fault)
    return RedirectResponse(f"/customer/{number}", 303)


def _known(number: int) -> Customer:
    try:
        return customers.read_customer(number)
    except JobError as unknown:
        raise UnknownJobError(unknown.what, where=unknown.where, remedy=unknown.remedy) from unknown


def _read_consent(typed: Typed) -> tuple[Consent, ...]:
    return tuple(kind for kind in Consent if typed.text(f"consent_{kind}"))


def _consent_words() -> tuple[tuple[str, str], ...]:
    words = {
        Consent.RECORDS: _("to have their orders kept"),
        Consent.PHOTOS: _("to have photos of the pieces shown"),
        Consent.SUBSTITUTES: _("to another blank of the same colour and size"),
    }
    return tuple((str(kind), words[kind]) for kind in Consent)


def _list_page(
    site: Site, *, after: str = "", typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    number = int(after) if after.isascii() and after.isdecimal() and len(after) < 10 else 0
    start = customers.place_of(number) if number else None
    found = customers.list_customers(limit=SHOWN_AT_ONCE + 1, after=start)
    return site.render.page(
        "shop_customers.html",
        status=status_of(fault) if fault else 200,
        place="/customers",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        customers=found[:SHOWN_AT_ONCE],
        next_after=found[SHOWN_AT_ONCE - 1].id if len(found) > SHOWN_AT_ONCE else 0,
        consents=_consent_words(),
    )


def _page(
    site: Site, number: int, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    customer = _known(number)
    sentence = str(fault) if fault else ""
    if isinstance(fault, StaleError):
        sentence = _(
            "Somebody else changed this customer since you loaded it; nothing was written."
        )
    return site.render.page(
        "shop_customer.html",
        status=status_of(fault) if fault else 200,
        place="/customers",
        typed=typed.words if typed else Words(),
        is_typed=typed is not None,
        fault=sentence,
        customer=customer,
        listed=job_book.list_jobs(JobFilter(customer=number), limit=SHOWN_AT_ONCE),
        consents=_consent_words(),
    )
