"""How sew-outs went, told on the page with photos, and how a garment sewed before.

Input: what the person at the machine saw. Output: an entry of the job's log, linked to plan and
cards; and all entries about one garment.
"""

from __future__ import annotations

from gettext import gettext as _

from fastapi import APIRouter
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it at run time

from firstpiece.shop import sewout_log
from firstpiece.shop.cards import open_cards
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.shop_job_pages import acted
from firstpiece.web.site import OurForm, SiteParts

router = APIRouter()

MOST_SHOWN = 50


@router.post("/job/{number}/sewn-out", dependencies=[OurForm])
def record_sewout(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Keep how the job's design sewed out."""

    def record(seen: int) -> None:
        told = sewout_log.Seen(
            minutes=typed.number("minutes", _("the minutes")),
            rating=typed.whole("rating", _("the rating")),
            seen=typed.text("saw"),
            change=typed.text("change"),
            photos=typed.files("photos"),
            revision=typed.whole("revision", _("the revision")) if typed.text("revision") else 0,
            garment=typed.text("garment"),
        )
        sewout_log.record_sewout(number, told, expected=seen)

    return acted(site, number, typed, record, place="sewn")


@router.get("/sewn/{garment}")
def show_sewn_before(site: SiteParts, garment: str) -> Response:
    """Show how a garment sewed before, newest first."""
    cards = open_cards()
    if garment not in cards.names("garments"):
        raise UnknownJobError(_("there is no such garment"))
    found = sewout_log.how_it_sewed(garment, limit=MOST_SHOWN)
    return site.render.page(
        "shop_sewn.html",
        place="/jobs",
        card=cards.garment(garment),
        found=[(one, sewout_log.has_same_cards(one.sewout)) for one in found],
        garments=[cards.garment(n) for n in cards.names("garments")],
    )
