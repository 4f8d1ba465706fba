"""Set-up on the page: what is on the needles, and where designs go on each garment.

Input: cones put on or taken off, millimetres typed. Output: the needle picture, the placement
table; the day's plan and the tickets follow them at once.
"""

from __future__ import annotations

from gettext import gettext as _
from itertools import groupby
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError
from firstpiece.shop import day as shop_day
from firstpiece.shop import needles, placements
from firstpiece.units import parse_length_mm
from firstpiece.web.faults import status_of
from firstpiece.web.shop_forms import Typed, TypedForm, Words
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.model.day import Cone
    from firstpiece.web.site import Site

router = APIRouter()


@router.get("/needles")
def show_needles(site: SiteParts) -> Response:
    """Show what is on every machine's needles."""
    return _needles_page(site)


@router.post("/needles/put", dependencies=[OurForm])
def put_cone(site: SiteParts, typed: TypedForm) -> Response:
    """Keep that a cone was put on a needle, or with no colour that it was taken off."""
    try:
        thread, _mark, color = typed.text("cone").partition("/")
        size = typed.whole("size", _("the needle’s size")) if typed.text("size") else 0
        choice = needles.ConeChoice(color, thread, size, typed.text("point")) if color else None
        machine = typed.needed("machine", _("the machine"))
        needles.put_cone(machine, typed.whole("needle", _("the needle")), choice)
    except FirstpieceError as fault:
        return _needles_page(site, typed=typed, fault=fault)
    return RedirectResponse("/needles", 303)


@router.post("/needles/for-job", dependencies=[OurForm])
def load_for_job(site: SiteParts, typed: TypedForm) -> Response:
    """Keep that all cones the plan wants for a job are on."""
    try:
        start = typed.day("start", _("the day"))
        planned = shop_day.plan_shop_day(start)
        shop_day.load_for_job(planned, typed.whole("job", _("the job")))
    except FirstpieceError as fault:
        return _needles_page(site, typed=typed, fault=fault)
    return RedirectResponse(f"/day?start={start.isoformat()}" if start else "/day", 303)


@router.get("/placements")
def show_placements(site: SiteParts) -> Response:
    """Show where designs go, by kind of garment, place and size."""
    return _placements_page(site)


@router.post("/placements/put", dependencies=[OurForm])
def put_placement(site: SiteParts, typed: TypedForm) -> Response:
    """Write a place, or one size of it, into the shop's own table."""
    try:
        placements.put_placement(
            placements.PlaceEntry(
                kind=typed.needed("kind", _("the kind of garment")),
                place=typed.needed("place", _("the place")),
                size=typed.text("size"),
                down_mm=_length(typed, "down"),
                across_mm=_length(typed, "across"),
                label=typed.text("label"),
                sentence=typed.text("sentence"),
            )
        )
    except FirstpieceError as fault:
        return _placements_page(site, typed=typed, fault=fault)
    return RedirectResponse("/placements", 303)


@router.post("/placements/remove", dependencies=[OurForm])
def remove_placement(site: SiteParts, typed: TypedForm) -> Response:
    """Take a place out of the shop's own table."""
    try:
        placements.remove_placement(typed.text("kind"), typed.text("place"))
    except FirstpieceError as fault:
        return _placements_page(site, typed=typed, fault=fault)
    return RedirectResponse("/placements", 303)


def _length(typed: Typed, name: str) -> float | None:
    text = typed.text(name)
    return parse_length_mm(text, default_unit="mm") if text else None


def cone_hexes(site: Site) -> dict[tuple[str, str], str]:
    """Return the colour of every cone by rack and name."""
    cards = site.cards()
    racks = [cards.thread(name) for name in cards.names("threads")]
    return {
        (rack.name, color.name): "#{:02x}{:02x}{:02x}".format(*color.rgb)
        for rack in racks
        for color in rack.colors
    }


def _needles_page(
    site: Site, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    cards = site.cards()

    def drawn(cones: tuple[Cone | None, ...]) -> list[tuple[int, Cone | None]]:
        return list(enumerate(cones, start=1))

    return site.render.page(
        "shop_needles.html",
        status=status_of(fault) if fault else 200,
        place="/day",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        machines=[(m.machine, drawn(m.cones)) for m in needles.list_needles()],
        racks=[cards.thread(name) for name in cards.names("threads")],
        hexes=cone_hexes(site),
        sizes=needles.NEEDLE_SIZES,
        points=needles.POINTS,
    )


def _placements_page(
    site: Site, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    cards = site.cards()
    known = placements.list_placements()
    by_kind = groupby(sorted(known, key=lambda k: k.placement.kind), lambda k: k.placement.kind)
    return site.render.page(
        "shop_placements.html",
        status=status_of(fault) if fault else 200,
        place="/stock",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        kinds=[(kind, list(places)) for kind, places in by_kind],
        garment_kinds=sorted({cards.garment(n).kind for n in cards.names("garments")}),
    )
