"""Faults as pages: each class of fault has its status, and one sentence is shown."""

from __future__ import annotations

import logging
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from firstpiece.errors import BusyError, FirstpieceError, InputError, StaleError
from firstpiece.web.job_folder import UnknownJobError

if TYPE_CHECKING:
    from fastapi import FastAPI, Request
    from starlette.responses import Response

_log = logging.getLogger(__name__)

STATUS: tuple[tuple[type[FirstpieceError], int], ...] = (
    (UnknownJobError, 404),
    (InputError, 422),
    (BusyError, 409),
    (StaleError, 409),
    (FirstpieceError, 500),
)


def status_of(fault: FirstpieceError) -> int:
    """Return the HTTP status of a fault."""
    return next(status for kind, status in STATUS if isinstance(fault, kind))


def tell_faults(app: FastAPI) -> None:
    """Make the application answer faults with one sentence on a page."""

    def told(request: Request, fault: Exception) -> Response:
        status = status_of(fault) if isinstance(fault, FirstpieceError) else 500
        return _page(request, status, str(fault))

    def refused(request: Request, fault: Exception) -> Response:
        status = fault.status_code if isinstance(fault, HTTPException) else 500
        words = str(fault.detail) if isinstance(fault, HTTPException) else ""
        if status == 404:
            words = _("There is no such page.")
        return _page(request, status, words)

    def misfilled(request: Request, _fault: Exception) -> Response:
        return _page(request, 422, _("Something is missing in the form; go back and fill it in."))

    def unnumbered(request: Request, fault: Exception) -> Response:
        # A number in an address that no record can have: larger than the store's numbers go.
        _log.info("%s: %s", request.url.path, fault)
        return _page(request, 404, _("There is no such page."))

    app.add_exception_handler(FirstpieceError, told)
    app.add_exception_handler(OverflowError, unnumbered)
    app.add_exception_handler(HTTPException, refused)
    app.add_exception_handler(RequestValidationError, misfilled)


def _page(request: Request, status: int, sentence: str) -> Response:
    shown = sentence[:1].upper() + sentence[1:]
    site = request.app.state.site
    answer: Response = site.render.page("fault.html", status=status, sentence=shown)
    return answer
