"""Tickets to print and cut: one for each piece, with its code as a symbol and to be typed.

Input: tickets in order. Output: sheets with ten tickets each, cut along the hairlines.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.page import PAPER_MM
from firstpiece.model.ticket import bag_code, plan_mark, spaced_code
from firstpiece.paperwork.code_symbol import CodeKind, draw_symbol
from firstpiece.paperwork.sheet import CAPTION, LABEL, RULE, SMALL, Face, Sheet, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics
    from firstpiece.model.stock import StockItem
    from firstpiece.model.ticket import Ticket

COLUMNS, ROWS = 2, 5
EDGE_MM = 9.0
CODE_MM = 27.0


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip to cut: its code, what is large, and lines below it."""

    code: str
    headline: str
    title: str
    lines: tuple[str, ...]
    corner: str


def draw_tickets(
    tickets: Sequence[Ticket],
    *,
    title: str,
    metrics: FontMetrics,
    paper: str = "A4",
    kind: CodeKind = CodeKind.QR,
) -> tuple[Page, ...]:
    """Return the sheets of tickets, ten to a sheet.

    Parameters
    ----------
    tickets : sequence of Ticket
    title : str
        The job's name.
    metrics : FontMetrics
    paper : str
        A key of ``model.page.PAPER_MM``.
    kind : CodeKind
        The symbol.
    """
    slips = [_ticket_slip(ticket, title) for ticket in tickets]
    head = _("Tickets: {title}").format(title=title)
    return draw_slips(slips, title=head, metrics=metrics, paper=paper, kind=kind)


def draw_bag_labels(
    items: Sequence[StockItem],
    *,
    metrics: FontMetrics,
    paper: str = "A4",
    kind: CodeKind = CodeKind.QR,
) -> tuple[Page, ...]:
    """Return sheets of labels for the bags and boxes blanks lie in, one for each item."""
    slips = [
        Slip(
            bag_code(item.id, item.key),
            item.key.size or item.key.color or item.key.name,
            item.label,
            tuple(t for t in (item.key.words, item.supplier) if t not in ("", item.label)),
            _("bag label"),
        )
        for item in items
    ]
    return draw_slips(slips, title=_("Bag labels"), metrics=metrics, paper=paper, kind=kind)


def draw_slips(
    slips: Sequence[Slip], *, title: str, metrics: FontMetrics, paper: str, kind: CodeKind
) -> tuple[Page, ...]:
    """Return sheets of slips."""
    each = COLUMNS * ROWS
    pages = []
    for start in range(0, len(slips), each):
        sheet = Sheet(paper, metrics)
        width, height = PAPER_MM[paper]
        box = ((width - 2 * EDGE_MM) / COLUMNS, (height - 2 * EDGE_MM) / ROWS)
        for i, slip in enumerate(slips[start : start + each]):
            x = EDGE_MM + box[0] * (i % COLUMNS)
            top = height - EDGE_MM - box[1] * (i // COLUMNS)
            _draw_slip(sheet, slip, (x, top, *box), kind)
        pages.append(sheet.page(title))
    return tuple(pages)


def _ticket_slip(ticket: Ticket, title: str) -> Slip:
    plan = _("plan {plan}").format(plan=plan_mark(ticket.plan_id).lower())
    where = [ticket.garment, ticket.color]
    lines = [
        ", ".join(text for text in where if text),
        ticket.placement,
        _("colourway {name}").format(name=ticket.colorway) if ticket.colorway else "",
        _("name: {name}").format(name=ticket.name) if ticket.name else "",
    ]
    place = _("line {line}, piece {piece} of {n}").format(
        line=ticket.line, piece=ticket.piece, n=ticket.n_pieces
    )
    return Slip(
        ticket.code,
        ticket.size or ticket.color or ticket.garment,
        _("{job} · {title}").format(job=ticket.job, title=title),
        (place, *(line for line in lines if line)),
        plan,
    )


def _draw_slip(
    sheet: Sheet, slip: Slip, box: tuple[float, float, float, float], kind: CodeKind
) -> None:
    """Draw one slip into (left, top, width, height)."""
    x, top, width, height = box
    sheet.box(x, top - height, (width, height), None, RULE)
    sheet.items.append(draw_symbol(x + 5.0, top - 6.0 - CODE_MM, CODE_MM, slip.code, kind))
    left, room = x + 5.0 + CODE_MM + 5.0, width - CODE_MM - 14.0
    sheet.fit(left, top - 9.4, slip.title, room, Face(10.0, "bold"))
    sheet.fit(left, top - 20.4, slip.headline, room, Face(24.0, "bold"))
    y = top - 23.6
    for line in slip.lines:
        for part in wrap(line, room, SMALL, sheet.metrics):
            if y - SMALL.lead_mm < top - height + 10.5:
                break
            y -= SMALL.lead_mm
            sheet.text(left, y, part, SMALL)
    typed = Face(9.5, "bold")
    sheet.fit(x + 5.0, top - height + 5.0, spaced_code(slip.code), width - 32.0, typed)
    right = Face(CAPTION.size_pt, rgb=LABEL, align="right")
    sheet.fit(x + width - 4.0, top - height + 5.0, slip.corner, 24.0, right)
