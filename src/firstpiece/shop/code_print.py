"""Codes on paper: slips to cut, sheets of labels or a roll, each with one ticket of a job.

In: tickets and how the shop prints. Out: pages. The choice of paper, of label and of symbol is
checked here once for every command and page.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import write_pdf
from firstpiece.files.safe_write import check_writable, write_together
from firstpiece.model.page import PAPER_MM
from firstpiece.model.paper_details import PieceLabel
from firstpiece.model.stock import SupplyKind
from firstpiece.paperwork.code_symbol import CodeKind
from firstpiece.paperwork.labels import GRIDS, draw_label_roll, draw_label_sheets
from firstpiece.paperwork.ticket_sheet import draw_bag_labels, draw_tickets
from firstpiece.shop.cards import open_cards
from firstpiece.shop.job_book import read_job
from firstpiece.shop.job_needs import design_of, threads_of
from firstpiece.shop.stock_book import list_stock
from firstpiece.shop.tickets import list_tickets, log_printed

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.job import Job
    from firstpiece.model.material import ThreadColor
    from firstpiece.model.page import Page
    from firstpiece.model.ticket import Ticket


@dataclass(frozen=True, slots=True)
class CodePrint:
    """How codes are printed.

    Parameters
    ----------
    paper : str
        A key of ``model.page.PAPER_MM``; sheets of labels have their own.
    code : str
        A value of ``paperwork.code_symbol.CodeKind``.
    labels : str
        A name of ``paperwork.labels.GRIDS``, or ``WIDTHxHEIGHT`` in mm for a roll; empty prints
        slips to cut.
    """

    paper: str = "A4"
    code: str = "qr"
    labels: str = ""

    def __post_init__(self) -> None:
        check_paper(self.paper)
        if self.code not in list(CodeKind):
            raise InputError(
                _("“{code}” is no kind of code known here").format(code=self.code[:30]),
                remedy=_("use one of: {kinds}").format(kinds=", ".join(CodeKind)),
            )
        if self.labels and self.labels not in GRIDS:
            _roll_size(self.labels)

    @property
    def kind(self) -> CodeKind:
        """The symbol."""
        return CodeKind(self.code)


def check_paper(paper: str) -> None:
    """Refuse a paper size that is not known here."""
    if paper not in PAPER_MM:
        raise InputError(
            _("“{paper}” is not a paper size known here").format(paper=paper[:30]),
            remedy=_("use one of: {papers}").format(papers=", ".join(PAPER_MM)),
        )


def make_tickets(number: int, *, line: int = 0, how: CodePrint | None = None) -> dict[str, bytes]:
    """Return the tickets of a job as a PDF to print and cut, and log that they were printed.

    Raises
    ------
    JobError
        See ``list_tickets``.
    """
    made = list_tickets(number, line=line)
    pages = draw_codes(read_job(number), made, how or CodePrint())
    log_printed(made, line=line)
    return {f"tickets-{number}.pdf": write_pdf(pages)}


def write_tickets(
    number: int, folder: Path, *, line: int = 0, how: CodePrint | None = None
) -> tuple[Path, ...]:
    """Write the tickets of a job into a folder; see ``make_tickets``."""
    check_writable(folder)
    return write_together(folder, make_tickets(number, line=line, how=how))


def make_bag_labels(*, how: CodePrint | None = None) -> dict[str, bytes]:
    """Return a label with a code for the bag or box of every blank in stock, as a PDF.

    Raises
    ------
    InputError
        When no blank is in stock.
    """
    items = [holding.item for holding in list_stock(SupplyKind.BLANK)]
    if not items:
        raise InputError(_("no blank is in stock"), remedy=_("put one on the list of stock"))
    how = how or CodePrint()
    metrics = read_font_metrics()
    pages = draw_bag_labels(items, metrics=metrics, paper=how.paper, kind=how.kind)
    return {"bag-labels.pdf": write_pdf(pages)}


def write_bag_labels(folder: Path, *, how: CodePrint | None = None) -> tuple[Path, ...]:
    """Write the bag labels into a folder; see ``make_bag_labels``."""
    return write_together(folder, make_bag_labels(how=how))


def draw_codes(job: Job, made: tuple[Ticket, ...], how: CodePrint) -> tuple[Page, ...]:
    """Return the tickets of a job as slips, or as labels when a grid or a roll is chosen."""
    metrics = read_font_metrics()
    if not how.labels:
        return draw_tickets(made, title=job.title, metrics=metrics, paper=how.paper, kind=how.kind)
    cards = open_cards()
    labels = [_label(job, ticket, cards) for ticket in made]
    if how.labels in GRIDS:
        return draw_label_sheets(labels, GRIDS[how.labels], metrics, kind=how.kind)
    return draw_label_roll(labels, _roll_size(how.labels), metrics, kind=how.kind)


def _label(job: Job, ticket: Ticket, cards: CardDrawer) -> PieceLabel:
    words = (cards.garment(ticket.garment).label, ticket.size, ticket.name, ticket.colorway)
    return PieceLabel(
        ticket.code,
        job.title,
        (
            " · ".join(word for word in words if word),
            ticket.placement,
            _("plan {hash}").format(hash=ticket.plan_id),
        ),
        _colors(job, ticket.colorway, cards),
    )


def _colors(job: Job, colorway: str, cards: CardDrawer) -> tuple[ThreadColor, ...]:
    """Return the threads of a colourway as far as they are on the rack."""
    design = design_of(job)
    if design is None:
        return ()
    rack = {t.name: t for t in cards.thread(design.thread).colors}
    return tuple(rack[name] for name in threads_of(job, colorway) if name in rack)


def _roll_size(text: str) -> tuple[float, float]:
    try:
        width, height = (float(v) for v in text.lower().replace("×", "x").split("x"))
    except ValueError as fault:
        raise _no_grid(text) from fault
    if not (math.isfinite(width) and math.isfinite(height)):
        raise _no_grid(text)
    return width, height


def _no_grid(text: str) -> InputError:
    return InputError(
        _("“{text}” is no grid of labels").format(text=text[:30]),
        remedy=_("use one of {grids}, or a roll's size like 62x29").format(grids=", ".join(GRIDS)),
    )
