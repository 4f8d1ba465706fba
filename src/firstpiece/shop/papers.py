"""Everything a job needs on paper: proof with its choices, run sheet, templates, quote, pack list.

In: a job's number, the paper and unit. Out: PDF files by name, made from what the store knows of
the job: its sizes, colourways, tickets, and what happened when it was sewn before.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError, JobError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import write_pdf
from firstpiece.files.placement_table import read_placements
from firstpiece.model.page import PAPER_MM
from firstpiece.model.paper import PaperJob
from firstpiece.model.paper_details import PaperColorway, PieceLabel, SizeRow
from firstpiece.model.ticket import PieceStep
from firstpiece.paperwork.labels import GRIDS, draw_label_roll, draw_label_sheets
from firstpiece.paperwork.list_pages import draw_list
from firstpiece.paperwork.shop_lists import (
    Letterhead,
    PackedPiece,
    draw_care_notes,
    pack_list,
    quote_sheet,
)
from firstpiece.paperwork.stage import draw_papers
from firstpiece.paperwork.template import draw_templates
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_book import read_page
from firstpiece.shop.job_design import prepare_revision
from firstpiece.shop.sewout_log import last_remark
from firstpiece.shop.tickets import list_tickets
from firstpiece.store import tickets as ticket_rows
from firstpiece.store.home import cards_folder

if TYPE_CHECKING:
    from firstpiece.model.customer import Customer
    from firstpiece.model.job import Job
    from firstpiece.model.material import Setup
    from firstpiece.model.page import Page
    from firstpiece.model.stitch import StitchPlan
    from firstpiece.model.ticket import Ticket
    from firstpiece.shop.prepare import Prepared


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
    """

    paper: str = "A4"
    unit: str = "mm"
    in_tiles: bool = False
    labels: str = ""


def make_papers(number: int, choice: PaperChoice | None = None) -> dict[str, bytes]:
    """Return a job's papers by file name.

    Raises
    ------
    JobError
        When there is no such job, or it has no design yet.
    """
    choice = choice or PaperChoice()
    if choice.paper not in PAPER_MM:
        raise InputError(
            _("“{paper}” is not a paper size known here").format(paper=choice.paper),
            where=_("paper"),
            remedy=_("use one of: {papers}").format(papers=", ".join(PAPER_MM)),
        )
    page = read_page(number)
    job = page.job
    if job.revision is None:
        raise JobError(
            _("the job has no design yet"),
            where=_("job {number}").format(number=number),
            remedy=_("draft one first"),
        )
    prepared = prepare_revision(job)
    made_tickets = list_tickets(number) if job.agreed is not None else ()
    paper_job = _paper_job(job, prepared, made_tickets, choice)
    drawn = draw_papers(paper_job)
    pages = {
        "proof.pdf": drawn.proof,
        "run-sheet.pdf": drawn.run_sheet,
        "choices.pdf": drawn.choices,
        "questions.pdf": drawn.questions,
        "template.pdf": draw_templates(paper_job),
        **_lists(job, page.customer, prepared, made_tickets, choice),
        "labels.pdf": _labels(job, paper_job, made_tickets, choice),
    }
    return {name: write_pdf(sheets) for name, sheets in pages.items() if sheets}


def _paper_job(
    job: Job, prepared: Prepared, made: tuple[Ticket, ...], choice: PaperChoice
) -> PaperJob:
    return PaperJob(
        title=job.title,
        region_map=prepared.region_map,
        plan=prepared.plan,
        forecast=prepared.forecast,
        setup=prepared.setup,
        metrics=read_font_metrics(),
        quotes=(prepared.quote,),
        findings=prepared.findings,
        questions=prepared.questions,
        paper=choice.paper,
        unit=choice.unit,
        revision=_("revision {n}").format(n=len(job.revisions)),
        colorways=tuple(_colorway(job, c.name, prepared) for c in job.colorways),
        sizes=_sizes(job, prepared.setup),
        tickets=tuple(t.code for t in made),
        last_time=_last_time(job),
        in_tiles=choice.in_tiles,
    )


def _colorway(job: Job, name: str, prepared: Prepared) -> PaperColorway:
    plan = in_colorway_of(job, prepared.plan, name)
    return PaperColorway(name, plan.threads)


def in_colorway_of(job: Job, plan: StitchPlan, name: str) -> StitchPlan:
    """Return a job's plan in one of its colourways.

    Raises
    ------
    JobError
        When there is no such colourway, or its threads do not fit the plan or the rack.
    """
    where = _("job {number}").format(number=job.id)
    colorway = next((c for c in job.colorways if c.name == name), None)
    if colorway is None:
        known = ", ".join(c.name for c in job.colorways) or _("none")
        raise JobError(
            _("there is no colourway “{name}”").format(name=name[:40]),
            where=where,
            remedy=_("its colourways are: {names}").format(names=known),
        )
    cards = open_cards()
    revision = job.revision
    assert revision is not None
    rack = {t.name: t for t in cards.thread(revision.thread).colors}
    missing = [t for t in colorway.threads if t not in rack]
    if missing or len(colorway.threads) != len(plan.threads):
        raise JobError(
            _(
                "colourway “{name}” names {n} threads for {m} of the plan, unknown: {missing}"
            ).format(
                name=name,
                n=len(colorway.threads),
                m=len(plan.threads),
                missing=", ".join(missing) or _("none"),
            ),
            where=where,
            remedy=_("set the colourway again"),
        )
    return replace(plan, threads=tuple(rack[t] for t in colorway.threads))


def _sizes(job: Job, setup: Setup) -> tuple[SizeRow, ...]:
    """Return pieces by size of the lines on this garment, with the table's millimetres."""
    pieces: Counter[tuple[str, str]] = Counter()
    for line in job.lines:
        if line.size and line.garment == setup.garment.name:
            pieces[line.size, line.placement] += line.count
    table = read_placements(cards_folder())
    rows = []
    for (size, placement), count in pieces.items():
        found = table.find(setup.garment.kind, placement)
        distance = found.down(size).value if found else None
        rows.append(SizeRow(size, count, distance))
    return tuple(rows)


def _last_time(job: Job) -> tuple[str, ...]:
    """Return how it sewed last, and the remarks and losses of the job that this one repeats."""
    seen = last_remark(job)
    if not job.reorder_of:
        return seen
    earlier = read_page(job.reorder_of).job
    with open_book().read() as connection:
        events = ticket_rows.read_piece_events(connection, job.reorder_of)
    lost = Counter(str(e.figures.get("cause", "")) for e in events if e.step == PieceStep.SPOILED)
    said = [note.text for note in earlier.notes]
    said += [
        _("{n} spoiled: {cause}").format(n=n, cause=cause or _("no cause told"))
        for cause, n in sorted(lost.items())
    ]
    return (*seen, *said)


def _lists(
    job: Job,
    customer: Customer | None,
    prepared: Prepared,
    made: tuple[Ticket, ...],
    choice: PaperChoice,
) -> dict[str, tuple[Page, ...]]:
    metrics = read_font_metrics()
    facts = [(_("job"), str(job.id))]
    if customer is not None:
        facts.insert(0, (_("for"), customer.name))
    if job.due is not None:
        facts.append((_("wanted by"), job.due.isoformat()))
    mark = _("plan {hash}").format(hash=prepared.plan.content_id())
    head = Letterhead(job.title, mark, choice.paper, tuple(facts))
    note = _("Prices hold for this design, these pieces and this garment. Tax as local law says.")
    lists = {
        "quote.pdf": draw_list(
            quote_sheet([prepared.quote], head, unit=choice.unit, note=note), metrics
        ),
        "care.pdf": draw_care_notes(prepared.setup, head, metrics),
    }
    if made:
        cards = open_cards()
        pieces = [PackedPiece(t.code, cards.garment(t.garment).label, t.size, t.name) for t in made]
        lists["pack-list.pdf"] = draw_list(pack_list(pieces, head), metrics)
    return lists


def _labels(
    job: Job, paper_job: PaperJob, made: tuple[Ticket, ...], choice: PaperChoice
) -> tuple[Page, ...]:
    if not choice.labels or not made:
        return ()
    cards = open_cards()
    labels = [
        PieceLabel(
            t.code,
            job.title,
            (
                " · ".join(x for x in (cards.garment(t.garment).label, t.size, t.name) if x),
                t.placement,
                _("plan {hash}").format(hash=t.plan_id),
            ),
            paper_job.plan.threads,
        )
        for t in made
    ]
    if choice.labels in GRIDS:
        return draw_label_sheets(labels, GRIDS[choice.labels], paper_job.metrics)
    return draw_label_roll(labels, _roll_size(choice.labels), paper_job.metrics)


def _roll_size(text: str) -> tuple[float, float]:
    try:
        width, height = (float(v) for v in text.lower().replace("×", "x").split("x"))
    except ValueError as fault:
        raise InputError(
            _("“{text}” is no grid of labels").format(text=text[:30]),
            where=_("labels"),
            remedy=_("use one of {grids}, or a roll's size like 62x29").format(
                grids=", ".join(GRIDS)
            ),
        ) from fault
    return width, height
