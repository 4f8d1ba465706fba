"""What the papers of a job are drawn from: its sizes, cones, tickets, and what was learned.

In: a job, its prepared design, its tickets. Out: the paper job of the whole, and one for the run
sheet of each colourway that is ordered: each is its own program with its own hash and cones.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import FirstpieceError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.forecasting import stage as forecasting
from firstpiece.model.paper import PaperJob
from firstpiece.model.paper_details import NeedleCone, PaperColorway, SizeRow
from firstpiece.model.ticket import PieceStep
from firstpiece.paperwork.colorway_pages import in_colorway
from firstpiece.shop.book import open_book
from firstpiece.shop.cards import open_cards
from firstpiece.shop.colorways import in_colorway_of
from firstpiece.shop.day import plan_shop_day
from firstpiece.shop.job_book import read_page
from firstpiece.shop.sewout_log import last_remark
from firstpiece.shop.tickets import placement_words
from firstpiece.store import tickets as ticket_rows

if TYPE_CHECKING:
    from firstpiece.model.day import HeadPlan, Slot
    from firstpiece.model.job import Job
    from firstpiece.model.order import OrderLine
    from firstpiece.model.ticket import Ticket
    from firstpiece.shop.prepare import Prepared


@dataclass(frozen=True, slots=True)
class JobDesign:
    """A job with its prepared design and the tickets of its pieces, none before the yes."""

    job: Job
    prepared: Prepared
    tickets: tuple[Ticket, ...] = ()

    @property
    def lines(self) -> tuple[OrderLine, ...]:
        """The pieces agreed, or asked for while nothing is."""
        return self.job.agreed.lines if self.job.agreed is not None else self.job.lines


def paper_job(design: JobDesign, *, paper: str, unit: str, in_tiles: bool = False) -> PaperJob:
    """Return what proof, templates and question sheet are drawn from."""
    job, prepared = design.job, design.prepared
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
        paper=paper,
        unit=unit,
        revision=_("revision {n}").format(n=len(job.revisions)),
        colorways=tuple(paper_colorway(design, c.name) for c in job.colorways),
        sizes=_sizes(design.lines, prepared),
        tickets=tuple(t.code for t in design.tickets),
        last_time=_last_time(job),
        in_tiles=in_tiles,
    )


def paper_colorway(design: JobDesign, name: str) -> PaperColorway:
    """Return a colourway with its threads from the rack, on the garment it is ordered on."""
    plan = in_colorway_of(design.job, design.prepared.plan, name)
    ordered = dict.fromkeys(line.garment for line in design.lines if line.colorway == name)
    usual = design.prepared.setup.garment.name
    other = next(iter(ordered), usual) if usual not in ordered else usual
    garment = open_cards().garment(other) if other != usual else None
    return PaperColorway(name, plan.threads, garment)


def run_sheet_jobs(whole: PaperJob, design: JobDesign) -> tuple[PaperJob, ...]:
    """Return what each run sheet is drawn from: one for every colourway that is ordered."""
    names = dict.fromkeys(line.colorway for line in design.lines) or {"": None}
    heads = _heads()
    sheets = []
    for name in names:
        own = _in_colorway(whole, design, name) if name else whole
        lines = tuple(line for line in design.lines if line.colorway == name)
        title = _("{title}, colourway {name}").format(title=whole.title, name=name)
        own = replace(
            own,
            title=title if name else whole.title,
            sizes=_sizes(lines, design.prepared),
            tickets=tuple(t.code for t in design.tickets if t.colorway == name),
        )
        sheets.append(_on_its_head(own, heads, (design.job.id, name)))
    return tuple(sheets)


def _in_colorway(whole: PaperJob, design: JobDesign, name: str) -> PaperJob:
    """Return the job in a colourway, set up for its garment and forecast on it."""
    colorway = paper_colorway(design, name)
    own = in_colorway(whole, colorway)
    if colorway.garment is not None:
        thread = design.prepared.setup.thread.name
        own = replace(own, setup=open_cards().setup(colorway.garment.name, thread=thread))
    forecast = forecasting.forecast_sewout(own.plan, region_map=own.region_map, setup=own.setup)
    return replace(own, forecast=forecast, findings=None)


def _sizes(lines: tuple[OrderLine, ...], prepared: Prepared) -> tuple[SizeRow, ...]:
    """Return pieces by garment, size and place, each with the garment as it is to be sewn on."""
    pieces: Counter[tuple[str, str, str]] = Counter()
    for line in lines:
        pieces[line.garment, line.size, placement_words(line)] += line.count
    cards = open_cards()
    rows = []
    for (name, size, words), count in pieces.items():
        garment = replace(cards.garment(name), placement=words)
        rows.append(SizeRow(size, count, garment=garment))
    usual = prepared.setup.garment.name
    return tuple(sorted(rows, key=lambda row: row.garment is None or row.garment.name != usual))


def _heads() -> tuple[HeadPlan, ...]:
    """Return the day's plan, head by head.

    The day may not be planned at all, for want of a machine or a card: sheets are printed then with
    the cones in the order of sewing.
    """
    try:
        return plan_shop_day().plan.heads
    except FirstpieceError:
        return ()


def _on_its_head(own: PaperJob, heads: tuple[HeadPlan, ...], wanted: tuple[int, str]) -> PaperJob:
    """Return the job with the cones as they are on its head when it comes."""
    for head in heads:
        for i, slot in enumerate(head.slots):
            if (slot.job.job, slot.job.colorway) == wanted:
                first = head.first_loading if i == 0 else ()
                changed = {change.needle for change in (*first, *slot.changes)}
                return replace(own, needles=_cones(own, slot, changed), head=head.head.label)
    return own


def _cones(own: PaperJob, slot: Slot, changed: set[int]) -> tuple[NeedleCone, ...]:
    """Return the cones; the same colour may stand on another needle with another point."""
    threads = {t.name: t for t in (*own.setup.thread.colors, *own.plan.threads)}
    return tuple(
        NeedleCone(
            needle,
            threads.get(cone.color) if cone else None,
            is_changed=needle in changed,
            is_used=cone in slot.job.cones,
        )
        for needle, cone in enumerate(slot.needles, start=1)
    )


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
