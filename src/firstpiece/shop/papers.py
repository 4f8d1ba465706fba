"""Everything a job needs on paper: proof with its choices, run sheet, templates, quote, pack list.

In: a job's number, the paper and unit. Out: PDF files by name, made from what the store knows of
the job: its sizes, colourways, tickets, and what happened when it was sewn before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import JobError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import rasterise_pdf, write_pdf
from firstpiece.files.picture import write_png
from firstpiece.model.quote import OrderTerms
from firstpiece.paperwork.colorway_pages import draw_contact_sheet
from firstpiece.paperwork.list_pages import draw_list
from firstpiece.paperwork.proof import draw_proof
from firstpiece.paperwork.run_sheet import draw_run_sheet
from firstpiece.paperwork.shop_lists import (
    Letterhead,
    PackedPiece,
    draw_care_notes,
    pack_list,
    quote_sheet,
)
from firstpiece.paperwork.stage import draw_job_questions
from firstpiece.paperwork.template import draw_templates
from firstpiece.shop.cards import open_cards
from firstpiece.shop.code_print import CodePrint, draw_codes
from firstpiece.shop.job_book import read_page
from firstpiece.shop.job_design import prepare_revision
from firstpiece.shop.job_order import quote_job
from firstpiece.shop.paper_jobs import JobDesign, paper_job, run_sheet_jobs
from firstpiece.shop.tickets import list_tickets

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from firstpiece.model.customer import Customer
    from firstpiece.model.job import Job
    from firstpiece.model.page import Page
    from firstpiece.model.paper import PaperJob
    from firstpiece.shop.prepare import Prepared

PICTURE_DPI = 150.0


@dataclass(frozen=True, slots=True)
class PaperChoice:
    """How a shop prints.

    Parameters
    ----------
    paper : str
        A key of ``model.page.PAPER_MM``.
    unit : str
        ``mm`` or ``in``.
    in_tiles : bool
        True adds a design that is larger than a sheet at true size over several.
    labels : str
        A name of ``paperwork.labels.GRIDS``, or ``WIDTHxHEIGHT`` in mm for a roll; empty for none.
    code : str
        The symbol on labels, a value of ``paperwork.code_symbol.CodeKind``.
    """

    paper: str = "A4"
    unit: str = "mm"
    in_tiles: bool = False
    labels: str = ""
    code: str = "qr"


def make_papers(
    number: int, choice: PaperChoice | None = None, *, only: str = ""
) -> dict[str, bytes]:
    """Return a job's papers by file name, or one of them.

    Parameters
    ----------
    number : int
    choice : PaperChoice or None
    only : str
        A file's name: nothing else is drawn. Empty draws all.

    Raises
    ------
    JobError
        When there is no such job, or it has no design yet.
    """
    choice = choice or PaperChoice()
    codes = CodePrint(choice.paper, choice.code, choice.labels)
    page = read_page(number)
    job = page.job
    if job.revision is None:
        raise JobError(
            _("the job has no design yet"),
            where=_("job {number}").format(number=number),
            remedy=_("draft one first"),
        )
    made = list_tickets(number) if job.agreed is not None else ()
    design = JobDesign(job, _priced(job), made)
    whole = paper_job(design, paper=choice.paper, unit=choice.unit, in_tiles=choice.in_tiles)
    draw: dict[str, Callable[[], Sequence[Page]]] = {
        "proof.pdf": lambda: draw_proof(whole),
        "run-sheet.pdf": lambda: _run_sheets(whole, design),
        "choices.pdf": lambda: draw_contact_sheet(whole),
        "questions.pdf": lambda: draw_job_questions(whole),
        "template.pdf": lambda: draw_templates(whole),
        **_lists(design, page.customer, choice),
    }
    if choice.labels and made:
        draw["labels.pdf"] = lambda: draw_codes(job, made, codes)
    return _write(draw, only)


def _priced(job: Job) -> Prepared:
    """Return the newest design priced as it was offered last: pieces, free ones, rush."""
    if not job.lines:
        return prepare_revision(job)
    offer = job.offer
    terms = OrderTerms(offer.free, offer.is_rush) if offer else None
    quoted = quote_job(job.id, terms=terms)
    return replace(quoted.prepared, quote=quoted.quote)


def _write(draw: dict[str, Callable[[], Sequence[Page]]], only: str) -> dict[str, bytes]:
    """Return the files of drawn pages; the proof's pictures are made from its sheets."""
    is_picture = only.endswith(".png")
    wanted = {"proof.pdf"} if is_picture else {only} if only else set(draw)
    drawn = {name: pages() for name, pages in draw.items() if name in wanted}
    files = {name: write_pdf(pages) for name, pages in drawn.items() if pages}
    if is_picture or not only:
        files.update(proof_pictures(files["proof.pdf"]))
    return {name: data for name, data in files.items() if only in ("", name)}


def _run_sheets(whole: PaperJob, design: JobDesign) -> tuple[Page, ...]:
    """Return a run sheet for each colourway that is ordered."""
    return tuple(page for own in run_sheet_jobs(whole, design) for page in draw_run_sheet(own))


def proof_pictures(pdf: bytes) -> dict[str, bytes]:
    """Return a proof's sheets as PNG: ``proof.png``, ``proof-2.png`` and so on, true to size."""
    pictures = rasterise_pdf(pdf, dpi=PICTURE_DPI)
    return {
        f"proof-{n}.png" if n > 1 else "proof.png": write_png(pixels, dpi=PICTURE_DPI)
        for n, pixels in enumerate(pictures, start=1)
    }


def _lists(
    design: JobDesign, customer: Customer | None, choice: PaperChoice
) -> dict[str, Callable[[], Sequence[Page]]]:
    job, prepared, metrics = design.job, design.prepared, read_font_metrics()
    facts = [(_("job"), str(job.id))]
    if customer is not None:
        facts.insert(0, (_("for"), customer.name))
    if job.due is not None:
        facts.append((_("wanted by"), job.due.isoformat()))
    quote_facts = list(facts)
    if job.offer is not None and job.offer.valid_until is not None:
        quote_facts.append((_("holds until"), job.offer.valid_until.isoformat()))
    mark = _("plan {hash}").format(hash=prepared.plan.content_id())
    head = Letterhead(job.title, mark, choice.paper, tuple(facts))
    note = _("Prices hold for this design, these pieces and this garment. Tax as local law says.")
    lists: dict[str, Callable[[], Sequence[Page]]] = {
        "quote.pdf": lambda: draw_list(
            quote_sheet(
                [prepared.quote],
                replace(head, facts=tuple(quote_facts)),
                unit=choice.unit,
                note=note,
            ),
            metrics,
        ),
        "care.pdf": lambda: draw_care_notes(prepared.setup, head, metrics),
    }
    if design.tickets:
        lists["pack-list.pdf"] = lambda: draw_list(pack_list(_packed(design), head), metrics)
    return lists


def _packed(design: JobDesign) -> list[PackedPiece]:
    cards = open_cards()
    return [
        PackedPiece(t.code, cards.garment(t.garment).label, t.size, t.name) for t in design.tickets
    ]
