"""The ticket screen for the tablet beside the machine: may this piece be started, yes or no.

A code typed, scanned or photographed is checked against the garment and the loaded plan; the answer
is to be read from across the room. Then the piece is recorded as sewn or as spoiled.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it at run time

from firstpiece.errors import FirstpieceError, InputError
from firstpiece.model.ticket import Spoil
from firstpiece.shop import tickets
from firstpiece.web.faults import status_of
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.web.site import Site

router = APIRouter()


@router.get("/tickets")
def show_tickets(site: SiteParts) -> Response:
    """Show the screen with nothing scanned yet."""
    return _screen(site, Typed())


@router.post("/tickets/check", dependencies=[OurForm])
def check(site: SiteParts, typed: TypedForm) -> Response:
    """Check that ticket, garment and loaded plan belong together; a piece that does is begun."""
    try:
        code, bag = _read_codes(typed)
        checked = tickets.check_ticket(code, bag=bag, design=typed.text("design"))
    except FirstpieceError as fault:
        return _screen(site, typed, fault=fault)
    return _screen(site, typed, checked=checked, code=code)


@router.post("/tickets/sewn", dependencies=[OurForm])
def sewn(site: SiteParts, typed: TypedForm) -> Response:
    """Record that a piece is sewn."""
    try:
        recorded = tickets.record_sewn(typed.text("piece"))
    except FirstpieceError as fault:
        return _screen(site, typed, fault=fault)
    return _screen(site, typed, recorded=recorded)


@router.post("/tickets/spoiled", dependencies=[OurForm])
def spoiled(site: SiteParts, typed: TypedForm) -> Response:
    """Record that a piece is spoiled, and what spoiled it."""
    try:
        cause = next((cause for cause in Spoil if cause == typed.text("cause")), None)
        if cause is None:
            raise InputError(_("what spoiled it is missing"), remedy=_("pick one of the list"))
        recorded = tickets.record_spoiled(typed.text("piece"), cause, note=typed.text("note"))
    except FirstpieceError as fault:
        return _screen(site, typed, fault=fault)
    return _screen(site, typed, recorded=recorded, was_spoiled=True)


def _read_codes(typed: Typed) -> tuple[str, str]:
    """Return the ticket's and the bag's code; what was typed comes before the photograph."""
    code, bag = typed.text("code"), typed.text("bag")
    photo = typed.file("photo")
    if photo is None:
        return code, bag
    name, data = photo
    seen_code, seen_bag = tickets.read_photo(data, name=name)
    return code or seen_code, bag or seen_bag


def _screen(
    site: Site, typed: Typed, *, fault: FirstpieceError | None = None, **shown: Any
) -> Response:
    values = {"checked": None, "recorded": None, "code": "", "was_spoiled": False, **shown}
    return site.render.page(
        "shop_tickets.html",
        status=status_of(fault) if fault else 200,
        place="/tickets",
        typed=typed.words or Words(),
        fault=str(fault) if fault else "",
        causes=[str(cause) for cause in Spoil],
        **values,
    )
