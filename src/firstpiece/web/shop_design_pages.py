"""A job's design on the page: planned by the worker, kept, drawn again, in other threads.

Each form answers at once; what takes seconds is worked out behind it, with progress and a stop.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from fastapi import APIRouter
from starlette.responses import Response

from firstpiece.errors import FirstpieceError, InputError, JobError, StaleError
from firstpiece.files.picture_strip import picture_type
from firstpiece.model.job_rules import check_changeable
from firstpiece.shop import design_keeping, job_book, job_design
from firstpiece.web import shop_designs
from firstpiece.web.job_folder import Keep, UnknownJobError
from firstpiece.web.job_pages import begin, take_picture
from firstpiece.web.keeping import read_revision
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.shop_job_pages import acted, job_page
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from firstpiece.model.job import Job as Record
    from firstpiece.web.shop_forms import Typed

router = APIRouter()


@router.post("/job/{number}/revise", dependencies=[OurForm])
def revise(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Begin to plan a picture as the job's new design, and go to its progress."""
    try:
        job = _unchanged(number, typed)
        check_changeable(job)
        asked = shop_designs.read_asked_design(typed, job, site.cards())
        name, data = _picture(typed, job)
        reason = typed.text("reason") or _("planned for the order")
        keep = Keep(reason, job.version)
        draft = take_picture(site, data, label=name, asked=asked, keep=keep, number=number)
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return begin(site, draft)


@router.post("/job/{number}/keep", dependencies=[OurForm])
def keep(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Keep a design that was tried as the job's newest."""

    def keep_it(seen: int) -> None:
        draft, run_id = shop_designs.read_try(typed)
        revision = read_revision(site.folder, draft, run_id)
        if revision is None or site.folder.job(draft).number != number:
            raise InputError(_("this design is not worked out"), remedy=_("plan it again"))
        if reason := typed.text("reason"):
            revision = replace(revision, reason=reason)
        design_keeping.keep_design(number, revision, expected=seen)

    return acted(site, number, typed, keep_it, place="design")


@router.post("/job/{number}/draw", dependencies=[OurForm])
def draw(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Draw a design that was kept elsewhere, to be looked at and tried another way."""
    try:
        job = job_book.read_job(number)
        wanted = typed.whole("revision", _("the revision"))
        revision = next((r for r in job.revisions if r.number == wanted), None)
        if revision is None:
            raise InputError(_("there is no such revision"), remedy=_("load the page again"))
        data = job_design.picture_data(revision.picture)
        name = next((p.name for p in job.pictures if p.hash == revision.picture), job.title)
        draft = site.folder.take(
            data, label=name, asked=shop_designs.asked_of(revision), number=number
        )
        site.folder.set_keep(draft.id, draft.run_id, Keep(revision.reason, is_look=True))
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return begin(site, draft)


@router.post("/job/{number}/picture", dependencies=[OurForm])
def receive_picture(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Keep a picture with the job."""

    def receive(seen: int) -> None:
        chosen = typed.file("picture")
        if chosen is None:
            raise InputError(_("no picture was chosen"), remedy=_("choose a file"))
        job_design.receive_picture(number, chosen[1], name=chosen[0], expected=seen)

    return acted(site, number, typed, receive, place="design")


@router.post("/job/{number}/colorway", dependencies=[OurForm])
def set_colorway(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Keep the design in other threads under a name."""

    def keep_it(seen: int) -> None:
        job = job_book.read_job(number)
        count = len(job.revision.threads) if job.revision else 0
        threads = [typed.text(f"thread{i}") for i in range(count)]
        job_design.set_colorway(number, typed.text("colorway"), threads, expected=seen)

    return acted(site, number, typed, keep_it, place="design")


@router.get("/job/{number}/pictures/{key}")
def picture(number: int, key: str) -> Response:
    """Return a picture that was kept with a job; drawings are for download only."""
    job = _known(number)
    photos = {photo.hash for one in job.sewouts for photo in one.photos}
    names = {p.hash: p.name for p in job.pictures}
    if key not in photos | set(names):
        raise UnknownJobError(_("there is no such picture"))
    data = job_design.picture_data(key)
    kind = picture_type(data)
    headers = {"Cache-Control": "private, max-age=86400"}
    if kind == "image/svg+xml":
        headers["Content-Disposition"] = "attachment"
    return Response(data, media_type=kind, headers=headers)


def _known(number: int) -> Record:
    try:
        return job_book.read_job(number)
    except JobError as unknown:
        raise UnknownJobError(unknown.what, where=unknown.where, remedy=unknown.remedy) from unknown


def _unchanged(number: int, typed: Typed) -> Record:
    """Return the job when it is still at the version the page showed."""
    job = _known(number)
    if job.version != typed.seen:
        raise StaleError(_("the job was changed since"), remedy=_("load it again"))
    return job


def _picture(typed: Typed, job: Record) -> tuple[str, bytes]:
    """Return the picture of the form, else the job's last one."""
    if chosen := typed.file("picture"):
        return chosen
    if not job.pictures:
        raise InputError(_("the job has no picture yet"), remedy=_("choose a file"))
    last = job.pictures[-1]
    return last.name or job.title, job_design.picture_data(last.hash)
