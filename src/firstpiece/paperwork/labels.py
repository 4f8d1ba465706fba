"""Labels for single pieces: on sheets of a grid of labels, or one after the other on a roll.

In: labels and the grid by its rows, columns and millimetres. Out: pages. Every label carries its
code as a symbol and in letters; what does not fit is set smaller, then cut with an ellipsis.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.model.page import INK, PAPER_MM, Page
from firstpiece.paperwork.code_symbol import CodeKind, draw_symbol
from firstpiece.paperwork.sheet import RULE, Face, Sheet, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.page import PageItem
    from firstpiece.model.paper import FontMetrics
    from firstpiece.model.paper_details import PieceLabel

_PAD_MM = 1.8
_LEAST_MM = (25.0, 10.0)
_COLORS_MM, _TALL_MM = 3.4, 24.0


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Labels on a sheet.

    Parameters
    ----------
    paper : str
        A key of ``model.page.PAPER_MM``.
    rows, columns : int
    width_mm, height_mm : float [mm]
        One label.
    left_mm, top_mm : float [mm]
        From the sheet's edges to the first label.
    gap_x_mm, gap_y_mm : float [mm]
        Between neighbours.
    """

    paper: str
    rows: int
    columns: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.paper not in PAPER_MM or self.rows < 1 or self.columns < 1:
            raise InputError(
                _("a grid of labels needs a paper size, rows and columns"),
                remedy=_("give A4 or Letter, and at least one row and column"),
            )
        _check_label(self.width_mm, self.height_mm)
        wide = self.left_mm + self.columns * (self.width_mm + self.gap_x_mm) - self.gap_x_mm
        tall = self.top_mm + self.rows * (self.height_mm + self.gap_y_mm) - self.gap_y_mm
        paper = PAPER_MM[self.paper]
        if wide > paper[0] + 0.01 or tall > paper[1] + 0.01:
            raise InputError(
                _("{columns} × {rows} labels take {w:.1f} × {h:.1f} mm, more than {paper}").format(
                    columns=self.columns, rows=self.rows, w=wide, h=tall, paper=self.paper
                ),
                remedy=_("measure label, margins and gaps again"),
            )

    def place(self, i: int) -> tuple[float, float]:
        """Return the lower left corner of label i of a sheet, row by row from the top [mm]."""
        row, column = divmod(i, self.columns)
        x = self.left_mm + column * (self.width_mm + self.gap_x_mm)
        top = PAPER_MM[self.paper][1] - self.top_mm - row * (self.height_mm + self.gap_y_mm)
        return x, top - self.height_mm


def draw_label_sheets(
    labels: Sequence[PieceLabel],
    grid: LabelGrid,
    metrics: FontMetrics,
    *,
    first: int = 0,
    kind: CodeKind = CodeKind.QR,
) -> tuple[Page, ...]:
    """Return sheets of labels.

    Parameters
    ----------
    labels : sequence of PieceLabel
    grid : LabelGrid
    metrics : FontMetrics
    first : int
        Labels already used up on the first sheet.
    kind : CodeKind
        The symbol.
    """
    per_sheet = grid.rows * grid.columns
    if not 0 <= first < per_sheet:
        raise InputError(
            _("a sheet has {n} labels; {first} cannot be used up").format(n=per_sheet, first=first),
            remedy=_("start on a fresh sheet"),
        )
    pages = []
    placed = [*([None] * first), *labels]
    for start in range(0, len(placed), per_sheet):
        sheet = Sheet(grid.paper, metrics)
        for i, label in enumerate(placed[start : start + per_sheet]):
            if label is not None:
                box = (*grid.place(i), grid.width_mm, grid.height_mm)
                _draw_label(sheet, box, label, kind)
        pages.append(sheet.page(_("Piece labels")))
    return tuple(pages)


def draw_label_roll(
    labels: Sequence[PieceLabel],
    size_mm: tuple[float, float],
    metrics: FontMetrics,
    *,
    kind: CodeKind = CodeKind.QR,
) -> tuple[Page, ...]:
    """Return one page for each label, as wide as the roll and as tall as a label."""
    _check_label(*size_mm)
    pages = []
    for label in labels:
        sheet = Sheet("A4", metrics)
        _draw_label(sheet, (0.0, 0.0, *size_mm), label, kind)
        items: tuple[PageItem, ...] = tuple(sheet.items)
        pages.append(Page(*size_mm, f"{_('Piece label')} {label.code}", items))
    return tuple(pages)


def _check_label(width_mm: float, height_mm: float) -> None:
    if width_mm < _LEAST_MM[0] or height_mm < _LEAST_MM[1]:
        raise InputError(
            _("a label of {w:.1f} × {h:.1f} mm is too small to read").format(
                w=width_mm, h=height_mm
            ),
            remedy=_("use at least {w:.0f} × {h:.0f} mm").format(w=_LEAST_MM[0], h=_LEAST_MM[1]),
        )


def _draw_label(
    sheet: Sheet, box: tuple[float, float, float, float], label: PieceLabel, kind: CodeKind
) -> None:
    """Draw the symbol at the left; code, title, lines and thread colours beside it."""
    left, bottom, width, height = box
    side = min(height - 2 * _PAD_MM, 0.42 * width, 30.0)
    symbol_y = bottom + height - _PAD_MM - side
    sheet.items.append(draw_symbol(left + _PAD_MM, symbol_y, side, label.code, kind))
    x = left + 2 * _PAD_MM + side
    room = left + width - _PAD_MM - x
    size = min(9.0, max(6.0, height / 4.2))
    y = bottom + height - _PAD_MM
    low = bottom + _PAD_MM + (_COLORS_MM if label.colors and height > _TALL_MM else 0.0)
    for text, face in (
        (label.code, Face(size + 1.0, "bold", INK)),
        (label.title, Face(size, "regular", INK)),
    ):
        y -= face.lead_mm
        sheet.fit(x, y + 0.3 * face.lead_mm - 0.3, text, room, face)
    y = _draw_lines(sheet, (x, low, room, y - low), label.lines, Face(max(6.0, size - 1.0)))
    _draw_colors(sheet, (x, bottom + _PAD_MM, room, y - bottom - _PAD_MM - 0.8), label)


def _draw_lines(
    sheet: Sheet, box: tuple[float, float, float, float], lines: tuple[str, ...], face: Face
) -> float:
    """Draw lines, wrapped as far as there is room for all of them; return the y below."""
    x, low, room, height = box
    wrapped = [wrap(line, room, face, sheet.metrics) for line in lines if line]
    n = int(height / face.lead_mm)
    # The longest give way first: each keeps a line, cut with an ellipsis.
    while sum(map(len, wrapped)) > n and max(map(len, wrapped)) > 1:
        i = max(range(len(wrapped)), key=lambda k: len(wrapped[k]))
        *kept, last, over = wrapped[i]
        wrapped[i] = (*kept, f"{last} {over}")
    y = low + height
    for text in [line for part in wrapped for line in part][:n]:
        y -= face.lead_mm
        sheet.fit(x, y + 0.3 * face.lead_mm - 0.3, text, room, face)
    return y


def _draw_colors(sheet: Sheet, box: tuple[float, float, float, float], label: PieceLabel) -> None:
    """Draw the threads in their order where there is room for them."""
    x, y, width, height = box
    if not label.colors or height < 1.6:
        return
    side = min(4.0, width / len(label.colors))
    for i, thread in enumerate(label.colors):
        sheet.box(x + i * side, y, (side, min(2.6, height)), thread.rgb, RULE)


# Common grids, by their measures; a shop gives its own when its sheets differ.
GRIDS = {
    "a4-3x8": LabelGrid("A4", 8, 3, 63.5, 33.9, 7.2, 12.9, 2.5),
    "a4-3x7": LabelGrid("A4", 7, 3, 63.5, 38.1, 7.2, 15.1, 2.5),
    "a4-2x7": LabelGrid("A4", 7, 2, 99.1, 38.1, 4.65, 15.15, 2.5),
    "a4-2x4": LabelGrid("A4", 4, 2, 99.1, 67.7, 4.65, 13.1, 2.5),
    "letter-3x10": LabelGrid("Letter", 10, 3, 66.7, 25.4, 4.8, 12.7, 3.1),
    "letter-2x7": LabelGrid("Letter", 7, 2, 101.6, 33.9, 4.0, 21.0, 4.7),
    "letter-2x5": LabelGrid("Letter", 5, 2, 101.6, 50.8, 4.0, 12.7, 4.7),
}
