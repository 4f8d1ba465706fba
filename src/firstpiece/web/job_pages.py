"""The pages a person reads and the forms on them; every handler calls one thing and shows it."""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Form, UploadFile
from starlette.responses import RedirectResponse, Response

from firstpiece.errors import InputError, JobError
from firstpiece.web import area_words, asking, traveller, traveller_parts
from firstpiece.web.faults import status_of
from firstpiece.web.job_folder import Keep, UnknownJobError, clean_label, draft_id
from firstpiece.web.keeping import say_asked
from firstpiece.web.run_files import (
    AREAS,
    BUDGET,
    LADDER,
    ORIGINAL_PNG,
    ORIGINAL_SVG,
    QUESTIONS,
    REMEDIES,
    REVISION,
    TRAVELLER,
    TRAVELLER_VERSION,
)
from firstpiece.web.site import OurForm, SiteParts
from firstpiece.web.wishes import carried
from firstpiece.web.work import FIT, PREPARE, PRICES, TRIES, heights_around, quantities_around

if TYPE_CHECKING:
    from firstpiece.model.job import Job as Record
    from firstpiece.web.job_folder import Asked, Job
    from firstpiece.web.site import Site

router = APIRouter()

MOST_SHOWN = 40

DEFAULTS = {"height": "90 mm", "garment": "", "thread": "", "quantity": "1", "n_colors": ""}
FieldText = Annotated[str, Form(max_length=200)]


@router.get("/enter")
def enter(site: SiteParts, key: str = "") -> Response:
    """Exchange the link's key for a cookie and take the key out of the address."""
    if not site.guard.knows(key):
        sentence = _("This link is from an earlier session; run “firstpiece open” again.")
        return site.render.page("fault.html", status=401, sentence=sentence)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(site.guard.cookie_name, site.guard.key, httponly=True, samesite="strict")
    return answer


@router.get("/")
def arrival(site: SiteParts) -> Response:
    """Show the place for a new picture, and the jobs there are."""
    return _arrival(site, DEFAULTS)


@router.post("/jobs", dependencies=[OurForm])
def new_job(
    site: SiteParts,
    picture: UploadFile,
    height: FieldText = "",
    garment: FieldText = "",
    quantity: FieldText = "",
) -> Response:
    """Take a picture in and begin its first run."""
    fields = {**DEFAULTS, "height": height, "garment": garment, "quantity": quantity}
    try:
        asked = asking.read_asked(fields, site.cards())
        data = picture.file.read()
        if not data:
            raise InputError(_("no picture was chosen"), remedy=_("drop one here or choose a file"))
        job = take_picture(site, data, label=clean_label(picture.filename or ""), asked=asked)
    except InputError as fault:
        return _arrival(site, fields, fault)
    return begin(site, job)


@router.post("/jobs/example", dependencies=[OurForm])
def example_job(
    site: SiteParts, height: FieldText = "", garment: FieldText = "", quantity: FieldText = ""
) -> Response:
    """Begin a job with the orchard's picture."""
    from firstpiece.shop.demo_picture import draw_demo_picture

    fields = {**DEFAULTS, "height": height, "garment": garment, "quantity": quantity}
    try:
        asked = asking.read_asked(fields, site.cards())
    except InputError as fault:
        return _arrival(site, fields, fault)
    label = _("orchard emblem.jpg")
    return begin(site, take_picture(site, draw_demo_picture(), label=label, asked=asked))


@router.get("/jobs/{job_id}")
def show_job(site: SiteParts, job_id: str, area: int | None = None) -> Response:
    """Show a job's present run, with one of its areas chosen."""
    job = site.folder.job(job_id)
    return show_traveller(site, job, job.run_id, chosen=area)


@router.get("/jobs/{job_id}/{run_id}")
def show_run(site: SiteParts, job_id: str, run_id: str, area: int | None = None) -> Response:
    """Show one run of a job."""
    job = site.folder.job(job_id)
    if run_id not in job.runs:
        raise UnknownJobError(_("this job was not tried that way"))
    return show_traveller(site, job, run_id, chosen=area)


@router.post("/jobs/{job_id}/again", dependencies=[OurForm])
def ask_again(  # noqa: PLR0913 - one for each word of the sentence
    site: SiteParts,
    job_id: str,
    height: FieldText = "",
    garment: FieldText = "",
    thread: FieldText = "",
    quantity: FieldText = "",
    n_colors: FieldText = "",
) -> Response:
    """Sew the same picture another way."""
    job = site.folder.job(job_id)
    fields = {"height": height, "garment": garment, "thread": thread, "quantity": quantity,
              "n_colors": n_colors}  # fmt: skip
    before = site.folder.asked(job.id, job.run_id)
    try:
        asked = asking.read_asked(fields, site.cards())
    except InputError as fault:
        return show_traveller(site, job, job.run_id, fields=fields, fault=fault)
    asked = replace(asked, revision=before.revision, wishes=carried(before, asked))
    return try_again(site, job, with_answers(asked, job), before=before)


@router.post("/jobs/{job_id}/{run_id}/remedy", dependencies=[OurForm])
def take_remedy(
    site: SiteParts, job_id: str, run_id: str, pin: Annotated[int, Form()],
    choice: Annotated[int, Form(ge=0)] = 0,
) -> Response:  # fmt: skip
    """Apply a finding's remedy and plan again."""
    job = site.folder.job(job_id)
    asked, reason = _remedied(site, job, run_id, pin, choice)
    return try_again(site, job, asked, reason=reason)


@router.post("/jobs/{job_id}/{run_id}/start", dependencies=[OurForm])
def start_again(site: SiteParts, job_id: str, run_id: str) -> Response:
    """Begin a run that was stopped or interrupted."""
    job = site.folder.job(job_id)
    return begin(site, site.folder.ask_again(job, site.folder.asked(job_id, run_id)))


@router.post("/jobs/{job_id}/{run_id}/stop", dependencies=[OurForm])
def stop(site: SiteParts, job_id: str, run_id: str) -> Response:
    """Stop what is under way for a run."""
    site.live.stop(job_id, run_id)
    return RedirectResponse(f"/jobs/{job_id}/{run_id}", 303)


@router.post("/jobs/{job_id}/{run_id}/prices", dependencies=[OurForm])
def price_again(
    site: SiteParts, job_id: str, run_id: str, heights: FieldText = "", quantities: FieldText = ""
) -> Response:
    """Work out the price table for other heights and numbers of pieces."""
    job = site.folder.job(job_id)
    try:
        heights_mm = asking.read_heights_mm(heights)
        counts = asking.read_quantities(quantities)
    except InputError as fault:
        typed = {"heights": heights, "quantities": quantities}
        return show_traveller(site, job, run_id, price_fields=typed, fault=fault)
    site.live.price(job_id, run_id, heights_mm, counts)
    return RedirectResponse(f"/jobs/{job_id}/{run_id}#prices", 303)


@router.post("/jobs/{job_id}/{run_id}/fit", dependencies=[OurForm])
def fit_budget(site: SiteParts, job_id: str, run_id: str, budget: FieldText = "") -> Response:
    """Look for the largest height whose price of one piece is within an amount."""
    job = site.folder.job(job_id)
    try:
        from firstpiece.shop.job_order import read_price

        read_price(budget)
    except InputError as fault:
        return show_traveller(site, job, run_id, price_fields={"budget": budget}, fault=fault)
    site.live.fit(job_id, run_id, budget)
    return RedirectResponse(f"/jobs/{job_id}/{run_id}#budget", 303)


def take_picture(
    site: Site, data: bytes, *, label: str, asked: Asked, keep: Keep | None = None,
    number: int = 0,
) -> Job:  # fmt: skip
    """Keep a picture with its job in the store and return the draft that works on it.

    ``number`` is the job's, 0 for a new one; ``keep`` tells what its design is kept as.
    """
    from firstpiece.shop.job_intake import take_in_picture

    expected = keep.seen if keep and keep.seen else None
    title = label.rpartition(".")[0] or label
    taken = take_in_picture(data, name=label, title=title, number=number, expected=expected)
    asked = _answered(asked, taken.job, taken.hash)
    draft = site.folder.take(taken.data, label=label, asked=asked, number=taken.job.id)
    if keep and keep.seen:
        keep = replace(keep, seen=taken.job.version)
    told = keep or Keep(say_asked(asked, None))
    site.folder.set_keep(draft.id, draft.run_id, told)
    return draft


def try_again(
    site: Site, job: Job, asked: Asked, *, before: Asked | None = None, reason: str = ""
) -> Response:
    """Sew the same picture another way, and say why in the job's log when it is kept."""
    draft = site.folder.ask_again(job, asked)
    site.folder.set_keep(draft.id, draft.run_id, Keep(reason or say_asked(asked, before)))
    return begin(site, draft)


def begin(site: Site, job: Job) -> Response:
    """Begin the run that is shown and go to it."""
    site.live.prepare(job.id, job.run_id)
    return RedirectResponse(f"/jobs/{job.id}", 303)


def with_answers(asked: Asked, draft: Job) -> Asked:
    """Return what is asked with what the customer answered about the picture."""
    record = read_record(draft)
    if record is None:
        return asked
    key = next((p.hash for p in record.pictures if draft_id(record.id, p.hash) == draft.id), "")
    return _answered(asked, record, key)


def _answered(asked: Asked, record: Record, picture_hash: str) -> Asked:
    from firstpiece.model.order_question import wishes_for

    wishes = wishes_for(record.settled, picture_hash)
    return replace(asked, bare_colors=wishes.bare_colors, merged=wishes.merged)


def read_record(draft: Job) -> Record | None:
    """Return the job of the store that a draft belongs to; None when it is no longer there."""
    if not draft.number:
        return None
    from firstpiece.shop.job_book import read_job

    try:
        return read_job(draft.number)
    except JobError:
        return None


def _remedied(site: Site, job: Job, run_id: str, pin: int, choice: int) -> tuple[Asked, str]:
    result = site.folder.read(job.id, run_id, TRAVELLER) or {"findings": []}
    finding = next((f for f in result["findings"] if f["pin"] == pin), None)
    if finding is None or choice >= len(finding["remedies"]):
        raise UnknownJobError(_("there is no such remedy"), remedy=_("load the job's page again"))
    before = site.folder.asked(job.id, run_id)
    tried = site.folder.read(job.id, run_id, REMEDIES)
    asked = traveller.remedied(before, finding, choice, tried)
    if asked is None:
        raise InputError(_("this remedy is done by hand"))
    return asked, str(finding["remedies"][choice]["label"])


def _arrival(site: Site, fields: dict[str, str], fault: InputError | None = None) -> Response:
    cards = site.cards()
    chosen = fields["garment"] or cards.default_garment
    lines = [_job_line(site, job) for job in site.folder.jobs(most=MOST_SHOWN)]
    return site.render.page(
        "arrival.html",
        status=status_of(fault) if fault else 200,
        fields={**fields, "garment": chosen},
        fault=str(fault) if fault else "",
        garments=[cards.garment(n) for n in cards.names("garments")],
        jobs=lines,
    )


def _job_line(site: Site, job: Job) -> dict[str, Any]:
    state = site.live.state(job.id, job.run_id)
    result = _result(site, job, job.run_id)
    asked = site.folder.asked(job.id, job.run_id)
    return {
        "job": job,
        "asked": asked,
        "result": result,
        "waiting": traveller.describe_waiting(state, result, asked),
    }


def show_traveller(  # noqa: PLR0913 - what was typed and what is wrong with it, by section
    site: Site,
    job: Job,
    run_id: str,
    *,
    fields: dict[str, str] | None = None,
    price_fields: dict[str, str] | None = None,
    fault: InputError | None = None,
    area_fault: InputError | None = None,
    chosen: int | None = None,
) -> Response:
    """Show a run, with what was typed and the sentence about it where it cannot be used."""
    cards = site.cards()
    asked = site.folder.asked(job.id, run_id)
    state = site.live.state(job.id, run_id, PREPARE)
    result = _result(site, job, run_id)
    record = read_record(job)
    values: dict[str, Any] = {
        "job": job,
        "record": record,
        "kept_as": _kept_as(site, job, run_id, record),
        "keep": site.folder.keep(job.id, run_id),
        "run_id": run_id,
        "asked": asked,
        "state": state,
        "waiting": traveller.describe_waiting(state, result, asked, record),
        "fields": fields or _fields_of(asked),
        "fault": str(fault) if fault else "",
        "is_price_fault": price_fields is not None,
        "garments": [cards.garment(n) for n in cards.names("garments")],
        "garment_labels": {n: cards.garment(n).label for n in cards.names("garments")},
        "racks": [cards.thread(n) for n in cards.names("threads")],
        "result": result,
        "original": _original_name(site, job, run_id),
        "others": [(r, site.folder.asked(job.id, r)) for r in job.runs if r != run_id],
    }
    values["parts"] = traveller_parts.describe_parts(result, n_others=len(values["others"]))
    values["order"] = _order(record, values["garment_labels"])
    values["parts"].update(values["order"]["parts"])
    if result is not None:
        values.update(_result_values(site, job, run_id, result))
        values["looks"] = traveller.describe_looks(cards)
        values["layers"] = traveller.describe_layers(result)
        usual = _price_fields(values["prices"], asked)
        values["price_fields"] = {**usual, **(price_fields or {})}
    values.update(_area_values(site, job, run_id, asked, result, chosen))
    values["area_fault"] = str(area_fault) if area_fault else ""
    wrong = fault or area_fault
    return site.render.page("traveller.html", status=status_of(wrong) if wrong else 200, **values)


def _area_values(
    site: Site, job: Job, run_id: str, asked: Asked, result: dict[str, Any] | None,
    chosen: int | None,
) -> dict[str, Any]:  # fmt: skip
    """Return what the page shows of the areas, from the moment they are cleaned."""
    areas = site.folder.read(job.id, run_id, AREAS)
    back, forth = site.folder.steps(job)
    values: dict[str, Any] = {"areas_known": areas, "steps": {"back": back, "forth": forth}}
    if areas is None:
        return {**values, "chosen": None}
    cards = site.cards()
    rack = cards.setup(asked.garment or cards.default_garment, thread=asked.thread).thread
    names = [thread.name for thread in rack.colors]
    shown, more = area_words.describe_list(areas, result, chosen=chosen)
    known = None if chosen is None else area_words.describe_chosen(
        areas, result, chosen, rack=names
    )  # fmt: skip
    whole = area_words.describe_whole(areas)
    used = sorted({a["thread"] for a in areas["areas"] if not a["is_bare"]})
    return {**values, "area_lines": shown, "more_lines": more, "chosen": known, "whole": whole,
            "rack_names": names, "used_threads": used}  # fmt: skip


def _result_values(site: Site, job: Job, run_id: str, result: dict[str, Any]) -> dict[str, Any]:
    asked = site.folder.asked(job.id, run_id)
    areas, more_areas = traveller.describe_areas(result)
    return {
        "areas": areas,
        "more_areas": more_areas,
        "findings": traveller.describe_findings(
            result, asked, site.folder.read(job.id, run_id, REMEDIES)
        ),
        "tries_state": site.live.state(job.id, run_id, TRIES),
        "threads": traveller.describe_threads(result),
        "files": traveller.describe_files(result),
        "has_questions_picture": any(f["name"] == QUESTIONS for f in result["files"]),
        "prices": traveller.describe_prices(site.folder.read(job.id, run_id, LADDER), asked),
        "prices_state": site.live.state(job.id, run_id, PRICES),
        "fit": site.folder.read(job.id, run_id, BUDGET),
        "fit_state": site.live.state(job.id, run_id, FIT),
    }


def _order(record: Record | None, labels: dict[str, str]) -> dict[str, Any]:
    if record is None:
        return {"pieces": [], "agreed": [], "log": [], "parts": {}}
    from firstpiece.shop.job_book import read_page
    from firstpiece.web.traveller_order import describe_order

    return describe_order(read_page(record.id), labels)


def _kept_as(site: Site, job: Job, run_id: str, record: Record | None) -> int:
    """Return the number of the job's newest revision with this run's plan, 0 for none."""
    figures = site.folder.read(job.id, run_id, REVISION)
    if record is None or figures is None:
        return 0
    plan_id = figures["plan_id"]
    return max((r.number for r in record.revisions if r.plan_id == plan_id), default=0)


def _result(site: Site, job: Job, run_id: str) -> dict[str, Any] | None:
    """Return what a run made, or None while there is nothing that this program can show."""
    result = site.folder.read(job.id, run_id, TRAVELLER)
    is_known = result is not None and result.get("page_version") == TRAVELLER_VERSION
    return result if is_known else None


def _original_name(site: Site, job: Job, run_id: str) -> str:
    """Return the name of the picture as it arrived, once it could be read."""
    folder = site.folder.path(job.id, run_id)
    return next((n for n in (ORIGINAL_PNG, ORIGINAL_SVG) if (folder / n).is_file()), "")


def _price_fields(prices: dict[str, Any] | None, asked: Asked) -> dict[str, str]:
    heights = (
        [r["height_mm"] for r in prices["rows"]] if prices else heights_around(asked.height_mm)
    )
    counts = prices["quantities"] if prices else quantities_around(asked.quantity)
    return {
        "heights": ", ".join(f"{h:g} mm" for h in heights),
        "quantities": ", ".join(str(n) for n in counts),
        "budget": "",
    }


def _fields_of(asked: Asked) -> dict[str, str]:
    return {
        "height": asked.height_text,
        "garment": asked.garment,
        "thread": asked.thread,
        "quantity": str(asked.quantity),
        "n_colors": str(asked.n_colors or ""),
    }
