"""The shop's lists as list sheets: buying list, pack list, quote; and the care note for the parcel.

In: plain values. Out: list sheets that ``list_pages`` draws, and the page of care notes.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.list_sheet import ListColumn, ListSection, ListSheet
from firstpiece.model.material import Weave
from firstpiece.model.ticket import spaced_code
from firstpiece.paperwork.agreement import say_money
from firstpiece.paperwork.form import say_size
from firstpiece.paperwork.sheet import CAPTION, LABEL, SMALL, Face, Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.material import Setup
    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics
    from firstpiece.model.quote import Quote


@dataclass(frozen=True, slots=True)
class Purchase:
    """One thing to buy: its words, how much, what for, what it costs."""

    item: str
    amount: str
    purpose: str = ""
    cost: str = ""


@dataclass(frozen=True, slots=True)
class SupplierList:
    """What to buy from one supplier; ``order_by`` is the last day that serves every job."""

    supplier: str
    purchases: tuple[Purchase, ...]
    order_by: str = ""
    total: str = ""


@dataclass(frozen=True, slots=True)
class PackedPiece:
    """One row of a pack list: the ticket's code, the garment, its size, a name sewn on it."""

    code: str
    garment: str
    size: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Letterhead:
    """What stands on a sheet that leaves the shop: title, number or date, paper."""

    title: str
    mark: str = ""
    paper: str = "A4"
    facts: tuple[tuple[str, str], ...] = ()


def buying_list(suppliers: Sequence[SupplierList], head: Letterhead) -> ListSheet:
    """Return the buying list, one section for each supplier."""
    columns = (
        ListColumn(_("thing"), 3.0),
        ListColumn(_("amount"), 1.0, "right"),
        ListColumn(_("for"), 1.6),
        ListColumn(_("cost"), 0.9, "right"),
    )
    sections = tuple(
        ListSection(
            title=s.supplier,
            columns=columns,
            rows=tuple((p.item, p.amount, p.purpose, p.cost) for p in s.purchases),
            remark=_("order by {day}").format(day=s.order_by) if s.order_by else "",
            total=(_("together"), "", "", s.total) if s.total else (),
        )
        for s in suppliers
    )
    if not sections:
        sections = (ListSection("", columns, ()),)
    return ListSheet(
        head.title, _("Buying list"), head.mark, head.facts, sections, has_ticks=True,
        paper=head.paper,
    )  # fmt: skip


def pack_list(pieces: Sequence[PackedPiece], head: Letterhead, *, note: str = "") -> ListSheet:
    """Return the pack list: a row to tick for every piece in the parcel."""
    columns = (
        ListColumn(_("ticket"), 2.2),
        ListColumn(_("garment"), 2.2),
        ListColumn(_("size"), 0.6),
        ListColumn(_("name"), 1.6),
    )
    rows = tuple((spaced_code(p.code), p.garment, p.size, p.name) for p in pieces)
    total = (_("{n} pieces").format(n=len(rows)), "", "", "")
    section = ListSection("", columns, rows, total=total)
    closing = tuple(text for text in (note, _("Packed and counted by:")) if text)
    return ListSheet(
        head.title, _("Pack list"), head.mark, head.facts, (section,), closing, has_ticks=True,
        paper=head.paper,
    )  # fmt: skip


def quote_sheet(
    quotes: Sequence[Quote], head: Letterhead, *, unit: str = "mm", note: str = ""
) -> ListSheet:
    """Return the quote: one section for each height and number of pieces, tax and total told."""
    columns = (
        ListColumn(_("what"), 3.2),
        ListColumn(_("number"), 0.8, "right"),
        ListColumn(_("each"), 1.0, "right"),
        ListColumn(_("amount"), 1.1, "right"),
    )
    sections = []
    for quote in quotes:
        size = say_size(quote.width_mm, quote.height_mm, unit)
        pieces = _("1 piece") if quote.quantity == 1 else _("{n} pieces").format(n=quote.quantity)
        rows = [
            (line.label, str(line.count), say_money(line.each), say_money(line.amount))
            for line in quote.lines
        ]
        rows.append((_("before tax"), "", "", say_money(quote.net)))
        rows.append((_("tax"), "", "", say_money(quote.tax)))
        if quote.deposit is not None and quote.deposit.amount:
            rows.append((_("to pay beforehand"), "", "", say_money(quote.deposit)))
        sections.append(
            ListSection(
                title=f"{size}, {pieces}",
                columns=columns,
                rows=tuple(rows),
                remark=_("{n:,} stitches a piece").format(n=quote.n_stitches),
                total=(_("to pay"), "", "", say_money(quote.total)),
            )
        )
    closing = (note,) if note else ()
    return ListSheet(
        head.title, _("Quote"), head.mark, head.facts, tuple(sections), closing, paper=head.paper
    )


def care_lines(setup: Setup) -> tuple[str, ...]:
    """Return how to look after a sewn piece (common practice, no source)."""
    weave = setup.fabric.weave
    lines = [
        _("Before the first wash, take hoop marks out with steam or a damp cloth."),
        _("Wash inside out, as the garment's own label says; no bleach on the thread."),
        _("Pull into shape while damp. Iron from the back, on a towel, never on the thread."),
    ]
    if setup.fabric.needs_topping:
        lines.append(_("Film left on top goes with cold water."))
    if setup.backing.removal == "cut away":
        lines.append(_("The sheet on the back stays in; trim it no closer than it is."))
    if weave in (Weave.TERRY, Weave.FLEECE):
        lines.append(_("Do not brush over the sewing: loops and pile catch in it."))
    lines.append(_("Cut a loose thread end, never pull it."))
    return tuple(lines)


def draw_care_notes(
    setup: Setup, head: Letterhead, metrics: FontMetrics, *, n_notes: int = 4
) -> tuple[Page, ...]:
    """Return sheets of care notes, four to a sheet with lines to cut along."""
    lines = care_lines(setup)
    pages = []
    for first in range(0, max(1, n_notes), 4):
        sheet = Sheet(head.paper, metrics)
        half = (sheet.width_mm / 2, sheet.height_mm / 2)
        for i in range(min(4, n_notes - first)):
            corner = ((i % 2) * half[0], sheet.height_mm - (i // 2) * half[1])
            _draw_note(sheet, corner, (half[0], setup.garment.label, head.title), lines)
        sheet.line(half[0], 8.0, half[0], sheet.height_mm - 8.0, LABEL)
        sheet.line(8.0, half[1], sheet.width_mm - 8.0, half[1], LABEL)
        pages.append(sheet.page(f"{_('Care note')}: {head.title}"))
    return tuple(pages)


def _draw_note(
    sheet: Sheet,
    corner: tuple[float, float],
    words: tuple[float, str, str],
    lines: tuple[str, ...],
) -> None:
    """Draw one note whose upper left corner is ``corner``."""
    width, garment, title = words
    x, y = corner[0] + 12.0, corner[1] - 20.0
    room = width - 24.0
    sheet.fit(x, y, _("Looking after your embroidery"), room, Face(12.0, "bold"))
    sheet.fit(x, y - 5.5, f"{title} · {garment}", room, CAPTION)
    y -= 9.0
    sheet.rule(x, y, x + room)
    y -= 2.0
    for line in lines:
        sheet.text(x, y - 3.4, "–", SMALL)
        y = sheet.paragraph(x + 3.5, y, line, room - 3.5, Face(8.5)) - 1.4
    note = _("The garment's own label comes before this note.")
    sheet.paragraph(x, y - 1.5, note, room, CAPTION)
