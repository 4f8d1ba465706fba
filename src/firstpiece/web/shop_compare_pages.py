"""Two revisions of a design on the page: what the newer has more, what it costs more, and where."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it at run time

from firstpiece.errors import FirstpieceError
from firstpiece.shop import job_design
from firstpiece.web.shop_job_pages import job_page
from firstpiece.web.site import SiteParts  # noqa: TC001 - FastAPI reads it at run time

router = APIRouter()


@router.get("/job/{number}/compare/{before}/{after}")
def show_change(
    site: SiteParts, number: int, before: int, after: int, unit: str = "mm"
) -> Response:
    """Show what one revision has more than another, in figures and area by area."""
    try:
        unit = "in" if unit == "in" else "mm"
        priced = job_design.compare_priced(number, before, after, unit=unit)
        areas = job_design.compare_areas(number, before, after)
    except FirstpieceError as fault:
        return job_page(site, number, fault=fault)
    return site.render.page(
        "job_compare.html",
        place="/jobs",
        number=number,
        priced=priced,
        areas=areas,
        unit=unit,
    )
