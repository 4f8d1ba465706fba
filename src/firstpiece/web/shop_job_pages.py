"""Jobs on the page: the list and its search, a new job, and one job with all that moves it on.

Each form carries the version its page showed; when somebody changed the job since, the page comes
back as the job is now, with a sentence about it and with what was typed.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import FirstpieceError, InputError, JobError, StaleError
from firstpiece.model.customer import Customer
from firstpiece.model.job import JobState
from firstpiece.model.order import OrderLine
from firstpiece.model.quote import OrderTerms
from firstpiece.paperwork.labels import GRIDS
from firstpiece.shop import customers, finishing, job_book, job_intake, job_order
from firstpiece.shop.job_setup import set_up_job
from firstpiece.store.jobs import JobFilter
from firstpiece.web import shop_designs, shop_words
from firstpiece.web.faults import status_of
from firstpiece.web.job_folder import UnknownJobError
from firstpiece.web.shop_forms import Typed, TypedForm, Words, read_day
from firstpiece.web.site import OurForm, SiteParts

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from firstpiece.web.site import Site

router = APIRouter()

FINISHABLE = (JobState.AGREED, JobState.SUPPLIED, JobState.SEWING, JobState.DONE)

AFTER_MARK = "~"
"""Between day and number in the address of a list's next page."""

CUSTOMERS_OFFERED = 200


@router.get("/jobs")
def show_jobs(site: SiteParts, words: str = "", show: str = "open", after: str = "") -> Response:
    """List jobs by due date, or what a search finds."""
    values: dict[str, Any]
    if words.strip():
        values = {"found": job_book.search_shop(words)}
    else:
        wanted = JobFilter(is_open=None if show == "all" else True)
        values = {"listed": job_book.list_jobs(wanted, after=_read_after(after))}
    return _jobs_page(site, words=words, show=show, **values)


@router.post("/job/new", dependencies=[OurForm])
def new_job(site: SiteParts, typed: TypedForm) -> Response:
    """Open a job, with its picture when one was chosen."""
    try:
        pictures = [p for p in (typed.file("picture"),) if p]
        newcomer = _newcomer(typed)
        job = job_intake.open_with_pictures(pictures, newcomer=newcomer, **_read_head(typed))
    except FirstpieceError as fault:
        return _jobs_page(site, listed=job_book.list_jobs(), typed=typed, fault=fault)
    return RedirectResponse(f"/job/{job.id}", 303)


@router.get("/job/{number}")
def show_job(site: SiteParts, number: int) -> Response:
    """Show everything kept about a job."""
    return job_page(site, number)


@router.post("/job/{number}/head", dependencies=[OurForm])
def change_head(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Change a job's title, message or due date."""

    def change(seen: int) -> None:
        due = typed.day("due", _("due"))
        customer = typed.whole("customer", _("the customer")) if typed.text("customer") else 0
        changes: dict[str, Any] = {
            "title": typed.text("title"),
            "message": typed.text("message"),
            "due": due,
        }
        if "customer" in typed.words:
            changes["customer"] = customer
        job_book.change_head(number, changes, expected=seen)

    return acted(site, number, typed, change)


@router.post("/job/{number}/line", dependencies=[OurForm])
def add_line(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Add pieces to a job's order."""

    def add(seen: int) -> None:
        job_order.put_line(number, _read_line(typed, 0), expected=seen)

    return acted(site, number, typed, add, place="order")


@router.post("/job/{number}/line/{line}/change", dependencies=[OurForm])
def change_line(site: SiteParts, number: int, line: int, typed: TypedForm) -> Response:
    """Change a line of a job's order: every field is what the form says."""

    def change(seen: int) -> None:
        job_order.put_line(number, _read_line(typed, line), expected=seen)

    return acted(site, number, typed, change, place="order")


@router.post("/job/{number}/line/{line}/remove", dependencies=[OurForm])
def remove_line(site: SiteParts, number: int, line: int, typed: TypedForm) -> Response:
    """Take a line out of a job's order."""
    return acted(
        site,
        number,
        typed,
        lambda seen: job_order.remove_line(number, line, expected=seen),
        place="order",
    )


@router.post("/job/{number}/offer", dependencies=[OurForm])
def offer(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Price what is ordered and record the offer."""

    def price(seen: int) -> None:
        free = typed.whole("free", _("the pieces that are free")) if typed.text("free") else 0
        terms = OrderTerms(free, is_rush=bool(typed.text("rush")))
        until = typed.day("until", _("the last day"))
        job_order.offer_price(number, valid_until=until, terms=terms, expected=seen)

    return acted(site, number, typed, price, place="price")


@router.post("/job/{number}/agree", dependencies=[OurForm])
def agree(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Record the customer's yes."""

    def record(seen: int) -> None:
        text = typed.text("price")
        price = job_order.read_price(text) if text else None
        job_order.agree_job(number, said_by=typed.text("said_by"), price=price, expected=seen)

    return acted(site, number, typed, record, place="agreed")


@router.post("/job/{number}/ask", dependencies=[OurForm])
def ask(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Record what was asked of the customer."""

    def record(seen: int) -> None:
        job_book.record_question(number, typed.text("question"), expected=seen)

    return acted(site, number, typed, record, place="asked")


@router.post("/job/{number}/answer", dependencies=[OurForm])
def answer(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Record what the customer answered."""

    def record(seen: int) -> None:
        job_book.record_answer(number, typed.text("answer"), expected=seen)

    return acted(site, number, typed, record, place="asked")


@router.post("/job/{number}/note", dependencies=[OurForm])
def note(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Keep a remark with a job."""

    def keep(seen: int) -> None:
        job_book.note_job(number, typed.text("note"), expected=seen)

    return acted(site, number, typed, keep, place="notes")


@router.post("/job/{number}/move", dependencies=[OurForm])
def move(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Move a job on by hand."""

    def step(seen: int) -> None:
        state = next((s for s in JobState if s == typed.text("state")), None)
        if state is None:
            raise InputError(_("there is no such state"), remedy=_("load the page again"))
        job_book.step_job(number, state, expected=seen)

    return acted(site, number, typed, step)


@router.post("/job/{number}/drop", dependencies=[OurForm])
def drop(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Give a job up."""

    def give_up(seen: int) -> None:
        job_book.drop_job(number, reason=typed.text("reason"), expected=seen)

    return acted(site, number, typed, give_up)


@router.post("/job/{number}/take-up", dependencies=[OurForm])
def take_up(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Take a dropped job up again."""
    return acted(site, number, typed, lambda seen: job_book.take_up_job(number, expected=seen))


@router.post("/job/{number}/reorder", dependencies=[OurForm])
def reorder(site: SiteParts, number: int, typed: TypedForm) -> Response:
    """Open a new job that repeats this one."""
    try:
        due = typed.day("due", _("due"))
        job = job_order.reorder_job(number, due=due, title=typed.text("title"))
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return RedirectResponse(f"/job/{job.id}", 303)


def _read_line(typed: Typed, number: int) -> OrderLine:
    return OrderLine(
        number,
        typed.text("garment"),
        typed.whole("count", _("the number of pieces")),
        typed.text("color"),
        typed.text("size"),
        typed.text("placement"),
        typed.text("line_colorway"),
        typed.names("names"),
    )


def acted(
    site: Site, number: int, typed: Typed, do: Callable[[int], object], *, place: str = ""
) -> Response:
    """Do an action on the version that was seen; show the job, or the job with the fault."""
    try:
        do(typed.seen)
    except FirstpieceError as fault:
        return job_page(site, number, typed=typed, fault=fault)
    return RedirectResponse(f"/job/{number}" + (f"#{place}" if place else ""), 303)


def _newcomer(typed: Typed) -> Customer | None:
    """Return the customer that was typed in, not yet kept; None without a name."""
    name = typed.text("new_customer")
    return Customer(0, name, typed.text("writes_by")) if name else None


def _read_head(typed: Typed) -> dict[str, Any]:
    return {
        "title": typed.text("title"),
        "message": typed.text("message"),
        "due": typed.day("due", _("due")),
        "customer": typed.whole("customer", _("the customer")) if typed.text("customer") else 0,
    }


def _read_after(text: str) -> tuple[date | None, int] | None:
    """Return where a list goes on, as its own link says it."""
    day, mark, number = text.partition(AFTER_MARK)
    if not mark or not (number.isascii() and number.isdecimal()):
        return None
    return (read_day(day, _("the list")) if day else None), int(number)


def _jobs_page(
    site: Site,
    *,
    typed: Typed | None = None,
    fault: FirstpieceError | None = None,
    **values: Any,
) -> Response:
    shown = {"words": "", "show": "open", "found": None, "listed": None, **values}
    return site.render.page(
        "shop_jobs.html",
        status=status_of(fault) if fault else 200,
        place="/jobs",
        typed=typed.words if typed else Words(),
        fault=str(fault) if fault else "",
        customers=customers.list_customers(limit=CUSTOMERS_OFFERED),
        mark=AFTER_MARK,
        **shown,
    )


def job_page(
    site: Site, number: int, *, typed: Typed | None = None, fault: FirstpieceError | None = None
) -> Response:
    """Return a job's page, with what was typed and why it was not done."""
    try:
        page = job_book.read_page(number)
    except JobError as unknown:
        raise UnknownJobError(unknown.what, where=unknown.where, remedy=unknown.remedy) from unknown
    cards = site.cards()
    return site.render.page(
        "shop_job.html",
        status=status_of(fault) if fault else 200,
        place="/jobs",
        page=page,
        job=page.job,
        action=shop_words.next_action(page.job.waiting),
        typed=typed.words if typed else Words(),
        fault=_sentence(fault),
        garments=[cards.garment(n) for n in cards.names("garments")],
        garment_labels={n: cards.garment(n).label for n in cards.names("garments")},
        customers=customers.list_customers(limit=CUSTOMERS_OFFERED),
        racks=[cards.thread(n) for n in cards.names("threads")],
        tries=(tries := shop_designs.list_tries(site, page.job)),
        try_of=shop_designs.tries_by_plan(tries),
        finish=finishing.finish_job(number) if page.job.state in FINISHABLE else None,
        setup=set_up_job(page.job),
        places=shop_designs.list_places(),
        grids=tuple(GRIDS),
    )


def _sentence(fault: FirstpieceError | None) -> str:
    """Return a fault in words; a stale form has been loaded again here, with what was typed."""
    if isinstance(fault, StaleError):
        return _(
            "Somebody else changed this job since you loaded it; nothing was written. It is shown "
            "as it is now, with what you typed: look it over and send it again."
        )
    return str(fault) if fault else ""
