"""Letting tablets and phones in: the code on this computer's screen, and the form on the device."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form, HTTPException, Request
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import BusyError
from firstpiece.web.devices import STAYS_S, CodeError
from firstpiece.web.security import FORM_KEY
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.web.devices import DeviceBook
    from firstpiece.web.site import Site

router = APIRouter()

Short = Annotated[str, Form(max_length=60)]


@router.get("/devices")
def devices(site: SiteParts, request: Request) -> Response:
    """Show who may come in, and the code that lets the next one in."""
    book = site.guard.devices
    code = book.code() if book else None
    link = f"http://{site.guard.network_host}/join?code={code.text}" if code else ""
    return site.render.page(
        "devices.html",
        is_open=book is not None,
        is_here=_is_here(request),
        address=site.guard.network_host,
        code=code if _is_here(request) else None,
        symbol=_symbol(link) if code and _is_here(request) else None,
        devices=book.devices() if book else (),
        place="/devices",
    )


@router.post("/devices/code", dependencies=[OurForm])
def open_code(site: SiteParts, request: Request) -> Response:
    """Open a code for one device."""
    _book(site, request).open_code()
    return RedirectResponse("/devices", 303)


@router.post("/devices/out", dependencies=[OurForm])
def put_out(site: SiteParts, request: Request, device: Short) -> Response:
    """Take a device's right to come in."""
    _book(site, request).put_out(device)
    return RedirectResponse("/devices", 303)


@router.get("/join")
def join_form(site: SiteParts, code: str = "") -> Response:
    """Show the form that a device comes in by; looking at it uses nothing up."""
    return _join_page(site, code=code[:20])


@router.post("/join")
def join(
    site: SiteParts, code: Short = "", name: Short = "",
    form_key: Annotated[str, Form(alias=FORM_KEY)] = "",
) -> Response:  # fmt: skip
    """Let a device in by its code."""
    if site.guard.devices is None or not site.guard.accepts_join(form_key):
        raise HTTPException(403, _("This form is from an earlier session; load the page again."))
    try:
        token = site.guard.devices.admit(code, name=name)
    except CodeError as fault:
        return _join_page(site, fault=str(fault), status=403)
    except BusyError as fault:
        return _join_page(site, fault=str(fault), status=429)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        site.guard.device_cookie, token, max_age=int(STAYS_S), httponly=True, samesite="strict"
    )
    return answer


def _join_page(site: Site, *, code: str = "", fault: str = "", status: int = 200) -> Response:
    return site.render.page(
        "join.html", status=status, code=code, fault=fault, form_key=site.guard.join_key
    )


def _is_here(request: Request) -> bool:
    """Return whether the computer itself asks, which alone may let devices in and put them out."""
    return bool(request.scope.get("firstpiece.is_here"))


def _book(site: Site, request: Request) -> DeviceBook:
    if site.guard.devices is None or not _is_here(request):
        raise HTTPException(403, _("Only the shop’s computer lets devices in and puts them out."))
    return site.guard.devices


def _symbol(text: str) -> dict[str, object]:
    """Return a QR symbol (ISO/IEC 18004) as the path of its dark modules and its side."""
    import segno

    rows = [list(row) for row in segno.make_qr(text, error="m").matrix]
    path = "".join(
        f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark
    )
    return {"path": path, "side": len(rows)}
