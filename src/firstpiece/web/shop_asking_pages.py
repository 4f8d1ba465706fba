"""What an order leaves open: lettered points, the message to paste, answers recorded by letter.

Input: a job. Output: a page with the message and the lettered picture; sent and answered, the job's
log has both, and each answer changes the order or the next design.
"""

from __future__ import annotations

from gettext import gettext as _

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError, JobError
from firstpiece.shop import order_questions
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.shop_job_pages import acted, job_page
from firstpiece.web.site import OurForm, SiteParts

router = APIRouter()

SHEET = "questions.png"


@router.get("/job/{number}/ask")
def show_open(site: SiteParts, number: int) -> Response:
    """Show everything that is still open, as the message that would be sent."""
    try:
        found = order_questions.list_order_questions(number)
    except JobError as unknown:
        raise UnknownJobError(unknown.what, where=unknown.where, remedy=unknown.remedy) from unknown
    drawn = any(point.picture and point.code != "height" for point in found.points)
    return site.render.page("job_open.html", place="/jobs", found=found, job=found.job, drawn=drawn)


@router.get("/job/{number}/ask/{name}")
def sheet(number: int, name: str) -> Response:
    """Return the lettered picture that goes with the message."""
    found = order_questions.list_order_questions(number)
    files = order_questions.draw_asked(found)
    if name != SHEET or name not in files:
        raise UnknownJobError(_("there is no such picture"))
    return Response(files[name], media_type="image/png")


@router.post("/job/{number}/ask-open", dependencies=[OurForm])
def ask_open(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Record that the message was sent; the job waits for its answers."""

    def ask(seen: int) -> None:
        if not order_questions.ask_order(number, expected=seen).points:
            raise InputError(_("nothing is open"), remedy=_("there is nothing to ask"))

    return acted(site, number, typed, ask, place="asked")


@router.post("/job/{number}/answer-point", dependencies=[OurForm])
def answer_point(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Record the answer to one lettered point and carry it out."""

    def answer(seen: int) -> None:
        said = typed.needed("said", _("the answer"))
        order_questions.answer_order(number, typed.text("letter"), said, expected=seen)

    return acted(site, number, typed, answer, place="asked")


@router.post("/job/{number}/first-answers", dependencies=[OurForm])
def take_first_answers(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Take the first answer to every open point that has choices, as the message said."""
    try:
        order_questions.answer_rest(number, expected=typed.seen)
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return RedirectResponse(f"/job/{number}#asked", 303)
