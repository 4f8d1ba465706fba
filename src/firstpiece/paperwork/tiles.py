"""Paper at true size, over as many sheets as it takes, with marks to lay them together by.

In: bounds in mm and a way to draw a window of them. Out: sheets that overlap by ``LAP_MM``; each
carries the check ruler, its place in the whole, and crosses that must meet its neighbours'.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.page import LineItem
from firstpiece.paperwork.form import Head, begin_sheet, draw_feet
from firstpiece.paperwork.picture_panel import (
    CLOTH_MM,
    PIXELS_PER_MM,
    SAMPLES_PER_MM,
    design_extent,
)
from firstpiece.paperwork.ruler import draw_ruler
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.paperwork.sheet import CAPTION, LABEL, MARGIN_MM, Face, Sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from firstpiece.model.material import RGB
    from firstpiece.model.page import Page
    from firstpiece.model.paper import FontMetrics, PaperJob

LAP_MM = 10.0
_FOOT_MM = 32.0
_RULER_TOP_MM = 27.5
_DASH_MM = 2.0
_CROSS_MM = 3.0

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet of a tiling: row and column from the upper left, and its window [mm]."""

    row: int
    column: int
    window: Bounds


@dataclass(frozen=True, slots=True)
class Window:
    """A sheet on which a window of the whole is drawn at true size.

    ``corner`` is where the window's lower left corner lies on the sheet [mm].
    """

    sheet: Sheet
    bounds: Bounds
    corner: tuple[float, float]

    def put(self, x: float, y: float) -> tuple[float, float]:
        """Return where a place of the whole lies on the sheet."""
        return self.corner[0] + x - self.bounds[0], self.corner[1] + y - self.bounds[1]

    def draw(
        self,
        shape: BaseGeometry,
        *,
        fill: RGB | None = None,
        stroke: RGB | None = None,
        stroke_mm: float = 0.2,
    ) -> None:
        """Draw what of a shape lies in the window."""
        shift = np.array(self.put(0.0, 0.0))
        for part in shapely.get_parts(shape.intersection(shapely.box(*self.bounds))):
            if isinstance(part, shapely.Polygon) and not part.is_empty:
                rings = [_moved(r, shift) for r in (part.exterior, *part.interiors)]
                self.sheet.shape(rings, fill=fill, stroke=stroke, stroke_mm=stroke_mm)
            elif isinstance(part, shapely.LineString) and part.length > 0:
                self.sheet.shape(
                    [_moved(part, shift)], stroke=stroke, stroke_mm=stroke_mm, closed=False
                )


def _moved(line: BaseGeometry, shift: NDArray[np.float64]) -> NDArray[np.float64]:
    moved: NDArray[np.float64] = shapely.get_coordinates(line) + shift
    return moved


def lay_tiles(bounds: Bounds, room_mm: tuple[float, float]) -> tuple[Tile, ...]:
    """Return the tiles that cover bounds, none larger than ``room_mm``, row by row from the top.

    Neighbours overlap by ``LAP_MM``; bounds that fit give one tile, which is then the bounds.
    """
    spans = []
    for low, high, room in ((bounds[0], bounds[2], room_mm[0]), (bounds[1], bounds[3], room_mm[1])):
        n = 1 if high - low <= room else math.ceil((high - low - LAP_MM) / (room - LAP_MM))
        step = (high - low - LAP_MM) / n
        spans.append(
            [(low + i * step, low + (i + 1) * step + LAP_MM) for i in range(n)]
            if n > 1 else [(low, high)]
        )  # fmt: skip
    rows = spans[1][::-1]
    return tuple(
        Tile(r, c, (x0, y0, x1, y1))
        for r, (y0, y1) in enumerate(rows)
        for c, (x0, x1) in enumerate(spans[0])
    )


def draw_tiles(
    look: tuple[str, FontMetrics, str],
    head: Head,
    bounds: Bounds,
    draw: Callable[[Window], None],
    *,
    note: str = "",
) -> tuple[Page, ...]:
    """Return the sheets.

    Parameters
    ----------
    look : tuple
        Paper, letter widths, unit.
    head : Head
    bounds : tuple of float [mm]
        Left, bottom, right and top of what is drawn.
    draw : callable
        Draws a window of it.
    note : str
        Said beside the ruler.
    """
    paper, metrics, unit = look
    empty = Sheet(paper, metrics)
    top = begin_sheet(paper, metrics, head).y_mm + 1.0
    tiles = lay_tiles(bounds, (empty.measure_mm, top - _FOOT_MM))
    sheets = []
    for tile in tiles:
        sheet = begin_sheet(paper, metrics, head).sheet
        width, height = tile.window[2] - tile.window[0], tile.window[3] - tile.window[1]
        corner = (MARGIN_MM + (sheet.measure_mm - width) / 2, top - height)
        window = Window(sheet, tile.window, corner)
        draw(window)
        _draw_marks(window, tile, tiles)
        said = _("True size.") if not note else f"{_('True size.')} {note}"
        draw_ruler(sheet, (MARGIN_MM, _RULER_TOP_MM), said, unit=unit)
        sheets.append(sheet)
    draw_feet(sheets, f"{head.title} · {head.mark}")
    return tuple(s.page(f"{head.kind}: {head.title}") for s in sheets)


def tile_name(tile: Tile) -> str:
    """Return a tile's name: the row as a letter, the column as a number (B2)."""
    return f"{chr(ord('A') + tile.row % 26)}{tile.column + 1}"


def _draw_marks(window: Window, tile: Tile, tiles: tuple[Tile, ...]) -> None:
    """Draw the edges shared with neighbours: a dashed line to lay the next sheet to, crosses."""
    if len(tiles) == 1:
        return
    x0, y0, x1, y1 = tile.window
    beside = {(t.row, t.column): t for t in tiles}
    name = Face(CAPTION.size_pt, "bold", LABEL)
    for step, ends in (
        ((0, 1), ((x1 - LAP_MM, y0), (x1 - LAP_MM, y1))),
        ((0, -1), ((x0, y0), (x0, y1))),
        ((1, 0), ((x0, y0 + LAP_MM), (x1, y0 + LAP_MM))),
        ((-1, 0), ((x0, y1), (x1, y1))),
    ):
        other = beside.get((tile.row + step[0], tile.column + step[1]))
        if other is None:
            continue
        _dash(window, ends)
        middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        _cross(window, (middle[0] + (step[1] != 0) * LAP_MM / 2,
            middle[1] - (step[0] != 0) * LAP_MM / 2))  # fmt: skip
        at = window.put(*middle)
        said = _("sheet {name}").format(name=tile_name(other))
        _label(window.sheet, (at[0] + 4.0, at[1] - 4.6), said, name)
    corner = window.put(x0, y1)
    label = _("sheet {name}").format(name=tile_name(tile))
    _label(window.sheet, (corner[0] + 1.5, corner[1] - 5.0), label, Face(10.0, "bold", LABEL))


def _label(sheet: Sheet, at: tuple[float, float], text: str, face: Face) -> None:
    """Set a line on white, so that it is read on any cloth."""
    width = sheet.metrics.width_mm(sheet.metrics.printable(text), face.size_pt, face.weight)
    x = min(at[0], sheet.right_mm - width - 0.5)
    tall = 0.42 * face.size_pt
    sheet.box(x - 0.5, at[1] - 0.2 * tall, (width + 1.0, tall), (255, 255, 255), None)
    sheet.text(x, at[1], text, face)


def _dash(window: Window, ends: tuple[tuple[float, float], tuple[float, float]]) -> None:
    (x0, y0), (x1, y1) = window.put(*ends[0]), window.put(*ends[1])
    length = math.dist((x0, y0), (x1, y1))
    n = max(1, int(length / (2 * _DASH_MM)))
    for i in range(n):
        a, b = (2 * i) / (2 * n), (2 * i + 1) / (2 * n)
        window.sheet.line(
            x0 + (x1 - x0) * a, y0 + (y1 - y0) * a, x0 + (x1 - x0) * b, y0 + (y1 - y0) * b, LABEL
        )


def _cross(window: Window, at: tuple[float, float]) -> None:
    x, y = window.put(*at)
    for dx, dy in ((_CROSS_MM, 0.0), (0.0, _CROSS_MM)):
        window.sheet.items.append(LineItem(x - dx, y - dy, x + dx, y + dy, 0.15))


def draw_true_size(job: PaperJob) -> tuple[Page, ...]:
    """Return the sew-out picture at true size over several sheets."""
    width, height = (v + 2 * CLOTH_MM for v in design_extent(job))
    bounds = (-width / 2, -height / 2, width / 2, height / 2)

    def draw(window: Window) -> None:
        left, bottom, right, top = window.bounds
        size = (right - left, top - bottom)
        pixels = draw_sewout(
            job.plan,
            setup=job.setup,
            pixels_per_mm=PIXELS_PER_MM,
            window_mm=(left, bottom, *size),
            samples_per_mm=SAMPLES_PER_MM,
        )
        window.sheet.picture(*window.corner, size, pixels)

    mark = f"{job.revision} · {_('plan')} {job.plan.content_id()}"
    head = Head(job.title, _("Proof at true size"), mark)
    return draw_tiles((job.paper, job.metrics, job.unit), head, bounds, draw)
