"""A job's papers from the page: proof, run sheet, lists, tickets, labels, to print or to send.

Reading papers changes nothing; tickets are logged as printed, so they come by a form.
"""

from __future__ import annotations

from gettext import gettext as _
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError
from firstpiece.model.buying import unlisted
from firstpiece.model.page import PAPER_MM
from firstpiece.paperwork.labels import GRIDS
from firstpiece.shop import buying_paper, code_print, papers, stock_book
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import TypedForm  # noqa: TC001 - FastAPI reads it at run time
from firstpiece.web.shop_job_pages import job_page
from firstpiece.web.site import OurForm, SiteParts

router = APIRouter()

PDF, PNG = "application/pdf", "image/png"


@router.get("/job/{number}/papers")
def show_papers(
    site: SiteParts, number: int, paper: str = "A4", unit: str = "mm", labels: str = ""
) -> Response:
    """List the papers a job has now, each with what it is for."""
    try:
        made = papers.make_papers(number, _choice(paper, unit, labels))
    except FirstpieceError as fault:
        return job_page(site, number, fault=fault)
    words = _words()
    return site.render.page(
        "job_papers.html",
        place="/jobs",
        number=number,
        names=[(name, words.get(name, ""), len(data)) for name, data in made.items()],
        query=f"paper={quote(paper)}&unit={quote(unit)}&labels={quote(labels)}",
        chosen={"paper": paper, "unit": unit, "labels": labels},
        papers=tuple(PAPER_MM),
        grids=tuple(GRIDS),
    )


@router.get("/job/{number}/papers/{name}")
def paper(
    number: int, name: str, paper: str = "A4", unit: str = "mm", labels: str = ""
) -> Response:
    """Return one paper."""
    made = papers.make_papers(number, _choice(paper, unit, labels), only=name)
    if name not in made:
        raise UnknownJobError(_("this job has no such paper"))
    kind = PNG if name.endswith(".png") else PDF
    return file_answer(f"job-{number}-{name}", made[name], kind)


@router.post("/job/{number}/tickets", dependencies=[OurForm])
def print_tickets(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Return the tickets of a job, or of one of its lines; the log tells that they were printed."""
    try:
        line = typed.whole("line", _("the line")) if typed.text("line") else 0
        ((name, data),) = code_print.make_tickets(number, line=line).items()
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return file_answer(name, data)


@router.get("/stock/bag-labels.pdf")
def bag_labels() -> Response:
    """Return a label with a code for every blank's bag."""
    ((name, data),) = code_print.make_bag_labels().items()
    return file_answer(name, data)


@router.get("/stock/buying-list.pdf")
def buying_list(paper: str = "A4") -> Response:
    """Return the buying list on paper."""
    found = stock_book.list_buying()
    nobodys = unlisted(found.shortages, found.unknown)
    made = buying_paper.make_buying_paper(found.orders, unlisted=nobodys, paper=paper)
    ((name, data),) = made.items()
    return file_answer(name, data)


@router.get("/job/{number}/tickets")
def no_tickets(number: int) -> Response:
    """Lead back to the job: a printed form loaded again must not print once more."""
    return RedirectResponse(f"/job/{number}#papers", 303)


def file_answer(name: str, data: bytes, kind: str = PDF) -> Response:
    """Return a file to be saved or opened by the browser's own viewer."""
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}"}
    return Response(data, media_type=kind, headers=headers)


def _choice(paper: str, unit: str, labels: str) -> papers.PaperChoice:
    return papers.PaperChoice(paper, "in" if unit == "in" else "mm", in_tiles=True, labels=labels)


def _words() -> dict[str, str]:
    return {
        "proof.pdf": _("the proof at true size, with a line for the yes"),
        "proof.png": _("the proof as a picture, for a message"),
        "choices.pdf": _("all colourways side by side"),
        "questions.pdf": _("the lettered picture with its questions"),
        "run-sheet.pdf": _("for the wall beside the machine"),
        "template.pdf": _("true size with its middle marked, for each garment size"),
        "quote.pdf": _("the price, line by line"),
        "care.pdf": _("notes on washing, for the parcel"),
        "pack-list.pdf": _("what goes into the parcel, to tick off"),
        "labels.pdf": _("a label for every piece"),
    }
