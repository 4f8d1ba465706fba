"""Work on the areas of a design: edits, wishes, and the way back and forth between steps.

An edit is first carried out on the areas alone; when it cannot be done, the page says so and
nothing has changed. Then the stitches are planned behind the page, as for any other run.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Form
from starlette.responses import FileResponse, RedirectResponse, Response

from firstpiece.errors import InputError
from firstpiece.web.area_forms import read_edits
from firstpiece.web.job_folder import DONE, RUNNING, Keep, UnknownJobError
from firstpiece.web.job_pages import FieldText, show_traveller
from firstpiece.web.run_files import AREAS, WAYS_PREFIX
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.site import OurForm, SiteParts
from firstpiece.web.wishes import asked_after
from firstpiece.web.work import Request, request_of

if TYPE_CHECKING:
    from firstpiece.shop.prepare import PrepareRequest
    from firstpiece.web.job_folder import Asked, Job, Object
    from firstpiece.web.site import Site

router = APIRouter()


@router.post("/jobs/{job_id}/{run_id}/edit", dependencies=[OurForm])
def edit(site: SiteParts, job_id: str, run_id: str, typed: TypedForm) -> Response:
    """Carry out an edit on the cleaned areas, then plan them again."""
    from firstpiece.shop.request_edits import with_edit

    fields = typed.words
    job, asked = site.folder.job(job_id), site.folder.asked(job_id, run_id)
    chosen = fields.get("area", "")
    try:
        edits = read_edits(fields.get("edit", ""), fields, _areas(site, job_id, run_id))
        wanted = asked_after(asked, with_edit(_request(site, job, run_id), *edits))
        reason = _("edited: {what}").format(what=edits[-1].kind)
        return _sew_on(site, job, run_id, wanted, reason=reason, chosen=chosen)
    except InputError as fault:
        return show_traveller(site, job, run_id, area_fault=fault, chosen=_number(chosen))


@router.post("/jobs/{job_id}/{run_id}/wish", dependencies=[OurForm])
def wish(  # noqa: PLR0913 - one for each word of the sentence
    site: SiteParts,
    job_id: str,
    run_id: str,
    area: FieldText = "",
    wish: FieldText = "",
    kind: FieldText = "",
    spacing: FieldText = "",
    angle: FieldText = "",
    relief: FieldText = "",
    run: FieldText = "",
) -> Response:
    """Ask how one area is to be sewn, then plan again."""
    from firstpiece.model.stitch import StitchSpec
    from firstpiece.shop.area_wishes import merge_wishes, read_wishes
    from firstpiece.units import parse_length_mm

    job, asked = site.folder.job(job_id), site.folder.asked(job_id, run_id)
    try:
        number = _number(area)
        if number is None:
            raise InputError(_("choose an area first"))
        words = [wish or kind]
        if spacing and kind in {"fill", "satin"}:
            word = "rows" if kind == "fill" else "columns"
            words.append(f"{word} {parse_length_mm(spacing, default_unit='mm'):g}")
        if angle and kind == "fill":
            words.append(f"angle {angle}")
        if relief and kind == "fill":
            words.append(f"relief {relief}")
        if run and kind == "running":
            words.append(f"run {run}")
        text = f"{number}: {', '.join(w for w in words if w)}"
        spec = read_wishes([text])[number]
        request = _request(site, job, run_id)
        spec = merge_wishes(request.specs.get(number, StitchSpec()), spec)
        wanted = asked_after(asked, replace(request, specs={**request.specs, number: spec}))
        return _sew_on(site, job, run_id, wanted, reason=text, chosen=area)
    except InputError as fault:
        return show_traveller(site, job, run_id, area_fault=fault, chosen=_number(area))


@router.post("/jobs/{job_id}/{run_id}/step", dependencies=[OurForm])
def step(
    site: SiteParts, job_id: str, run_id: str, by: Annotated[int, Form()], area: FieldText = ""
) -> Response:
    """Go back to how the design was a step before, or forth again."""
    job = site.folder.step(site.folder.job(job_id), by)
    if job.run_id != run_id:
        site.live.stop(job_id, run_id)
    if site.live.state(job_id, job.run_id)["status"] not in {DONE, RUNNING}:
        site.live.prepare(job_id, job.run_id)
    return RedirectResponse(_address(job, area), 303)


@router.get("/jobs/{job_id}/{run_id}/ways/{area}")
def ways(site: SiteParts, job_id: str, run_id: str, area: int) -> Response:
    """Show one area sewn in each of the ways that suit it."""
    name = f"{WAYS_PREFIX}{area}.json"
    site.folder.asked(job_id, run_id)
    path = site.folder.path(job_id, run_id) / name
    if not path.is_file():
        site.live.draw_ways(job_id, run_id, area)
    listed: Object | list[Object] = site.folder.read(job_id, run_id, name) or []
    here = f"/jobs/{job_id}/{run_id}"
    return site.render.page("area_ways.html", here=here, area=area, ways=listed)


@router.get("/jobs/{job_id}/{run_id}/ways/{area}/{key}.png")
def way_picture(site: SiteParts, job_id: str, run_id: str, area: int, key: str) -> Response:
    """Return the picture of an area sewn in one way."""
    path = site.folder.path(job_id, run_id) / f"{WAYS_PREFIX}{area}-{key}.png"
    if not key.isalpha() or not path.is_file():
        raise UnknownJobError(_("there is no such picture"))
    return FileResponse(path, media_type="image/png")


def _sew_on(
    site: Site, job: Job, run_id: str, asked: Asked, *, reason: str, chosen: str
) -> Response:
    """Make what is asked the run that is shown, once its areas could be made."""
    new_id = asked.run_id()
    if site.folder.read(job.id, new_id, AREAS) is None:
        site.folder.write_asked(job.id, asked)
        site.live.clean(job.id, new_id)
    if new_id != run_id:
        site.live.stop(job.id, run_id)
    shown = site.folder.ask_again(job, asked)
    site.folder.set_keep(shown.id, shown.run_id, Keep(reason))
    if site.live.state(job.id, new_id)["status"] != DONE:
        site.live.prepare(job.id, new_id)
    return RedirectResponse(_address(shown, chosen), 303)


def _request(site: Site, job: Job, run_id: str) -> PrepareRequest:
    """Return what a run asks of the chain, all but the picture itself."""
    return request_of(
        Request(
            folder=site.folder.path(job.id, run_id),
            picture=site.folder.path(job.id) / "picture",
            label=job.label,
            asked=site.folder.asked(job.id, run_id),
            cards=site.cards_folder,
            number=job.number,
        ),
        b"",
    )


def _areas(site: Site, job_id: str, run_id: str) -> Object:
    areas = site.folder.read(job_id, run_id, AREAS)
    if areas is None:
        raise InputError(
            _("the areas are not cleaned yet"), remedy=_("wait until they are shown and try again")
        )
    return areas


def _number(text: str) -> int | None:
    plain = text.strip()
    return int(plain) if plain.isascii() and plain.isdecimal() and len(plain) < 9 else None


def _address(job: Job, area: str) -> str:
    number = _number(area)
    query = "" if number is None else f"?area={number}"
    return f"/jobs/{job.id}/{job.run_id}{query}#areas"
