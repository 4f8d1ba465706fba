"""A job's price in full before it is offered: what the customer sees beside what the shop sees."""

from __future__ import annotations

from gettext import gettext as _

from fastapi import APIRouter
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it at run time

from firstpiece.errors import FirstpieceError, InputError
from firstpiece.model.quote import OrderTerms
from firstpiece.shop import job_order
from firstpiece.shop.offer_message import write_offer
from firstpiece.web.shop_job_pages import job_page
from firstpiece.web.site import SiteParts  # noqa: TC001 - FastAPI reads it at run time

router = APIRouter()


@router.get("/job/{number}/price")
def show_price(site: SiteParts, number: int, free: str = "0", rush: str = "") -> Response:
    """Show the price line by line, with cost and margin; nothing is written."""
    try:
        if not (free.isascii() and free.isdecimal() and len(free) < 7):
            raise InputError(
                _("“{text}” is not a number of pieces").format(text=free[:20]),
                remedy=_("write it in digits"),
            )
        terms = OrderTerms(int(free), is_rush=bool(rush))
        quoted = job_order.quote_job(number, terms=terms)
    except FirstpieceError as fault:
        return job_page(site, number, fault=fault)
    return site.render.page(
        "job_price.html",
        place="/jobs",
        job=quoted.job,
        quote=quoted.quote,
        quantity=quoted.quantity,
        card=quoted.prepared.card,
        free=int(free),
        is_rush=terms.is_rush,
        message=write_offer(quoted),
    )
