"""Price each against height, one line per number of pieces, as a sheet of paper.

In: quotes at several heights and quantities. Out: a ``Page`` that any writer can draw.
"""

from __future__ import annotations

import itertools
import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
from babel.numbers import format_currency

from firstpiece.model.page import INK, LineItem, Page, PageItem, ShapeItem, TextItem
from firstpiece.paperwork.sheet import LABEL, PAPER, RULE

if TYPE_CHECKING:
    from firstpiece.model.material import RGB
    from firstpiece.model.quote import Quote

WIDTH_MM, HEIGHT_MM = 184.0, 112.0
LEFT_MM, RIGHT_MM, BOTTOM_MM, TOP_MM = 20.0, 150.0, 22.0, 90.0


def draw_price_chart(
    quotes: tuple[Quote, ...], *, title: str, subtitle: str = "", locale: str = "en_GB"
) -> Page:
    """Return the chart.

    Parameters
    ----------
    quotes : tuple of Quote
        Any order; at least one.
    title, subtitle : str
        Set above the chart.
    locale : str
        How money is written.

    Returns
    -------
    Page
        Each line ends with its price written out; the table beside it has the others.
    """
    heights = sorted({q.height_mm for q in quotes})
    quantities = list(dict.fromkeys(q.quantity for q in quotes))
    top = _round_up(max(float(q.each.amount) for q in quotes))
    axes = _Axes(heights[0], heights[-1], top)
    items: list[PageItem] = [
        TextItem(LEFT_MM - 12, HEIGHT_MM - 9, title, size_pt=12, weight="bold"),
        TextItem(LEFT_MM - 12, HEIGHT_MM - 14.5, subtitle, size_pt=8.5, rgb=LABEL),
        *_scales(axes, quotes, locale),
    ]
    ends = []
    for i, quantity in enumerate(quantities):
        line = sorted((q for q in quotes if q.quantity == quantity), key=lambda q: q.height_mm)
        items += _line(axes, line, _shade(i, len(quantities)))
        ends.append((axes.y(float(line[-1].each.amount)), line[-1]))
    items += _end_labels(ends, locale)
    return Page(WIDTH_MM, HEIGHT_MM, title, tuple(items))


class _Axes:
    """Heights to x and prices to y, both from values to millimetres of paper."""

    def __init__(self, low_mm: float, high_mm: float, top: float) -> None:
        pad = 0.06 * (high_mm - low_mm) or 5.0
        self.low_mm, self.high_mm = low_mm - pad, high_mm
        self.top = top

    def x(self, height_mm: float) -> float:
        share = (height_mm - self.low_mm) / (self.high_mm - self.low_mm)
        return LEFT_MM + share * (RIGHT_MM - LEFT_MM)

    def y(self, price: float) -> float:
        return BOTTOM_MM + price / self.top * (TOP_MM - BOTTOM_MM)


def _scales(axes: _Axes, quotes: tuple[Quote, ...], locale: str) -> list[PageItem]:
    """Return the rules with their prices, and each height with its stitches below."""
    currency = str(quotes[0].each.currency)
    items: list[PageItem] = []
    for step in range(5):
        price = axes.top * step / 4
        y = axes.y(price)
        text = format_currency(price, currency, locale=locale, format="¤#,##0.##",
                               currency_digits=False)  # fmt: skip
        items.append(LineItem(LEFT_MM, y, RIGHT_MM, y, width_mm=0.1, rgb=RULE))
        items.append(TextItem(LEFT_MM - 2, y - 1, text, size_pt=8, align="right", rgb=LABEL))
    stitches = {q.height_mm: q.n_stitches for q in quotes}
    free_from = -math.inf
    for height, n in sorted(stitches.items()):
        x = axes.x(height)
        items.append(LineItem(x, BOTTOM_MM, x, BOTTOM_MM - 1.2, width_mm=0.15, rgb=LABEL))
        if x < free_from:
            continue
        free_from = x + 17.0
        items.append(TextItem(x, BOTTOM_MM - 5.2, f"{height:.0f} mm", size_pt=9, align="centre"))
        count = _("{n} stitches").format(n=f"{n:,}")
        items.append(TextItem(x, BOTTOM_MM - 9.2, count, size_pt=7, align="centre", rgb=LABEL))
    note = _("height of the design; price of one piece, before tax")
    items.append(TextItem(LEFT_MM - 12, 5, note, size_pt=7.5, rgb=LABEL))
    return items


def _line(axes: _Axes, line: list[Quote], rgb: RGB) -> list[PageItem]:
    points = [(axes.x(q.height_mm), axes.y(float(q.each.amount))) for q in line]
    items: list[PageItem] = [
        LineItem(*start, *end, width_mm=0.45, rgb=rgb) for start, end in itertools.pairwise(points)
    ]
    turn = np.linspace(0, 2 * np.pi, 25)[:-1]
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    for x, y in points:
        dot = circle * 0.9 + (x, y)
        items.append(ShapeItem((dot,), fill=rgb, stroke=PAPER, stroke_mm=0.35))
    return items


def _end_labels(ends: list[tuple[float, Quote]], locale: str) -> list[PageItem]:
    """Return the labels right of the lines' ends, moved apart where they would overlap."""
    items: list[PageItem] = []
    lowest = -math.inf
    for end_y, quote in sorted(ends, key=lambda e: e[0]):
        y = max(end_y, lowest + 4.6)
        lowest = y
        price = format_currency(quote.each.amount, str(quote.each.currency), locale=locale)
        pieces = _("1 piece") if quote.quantity == 1 else _("{n} pieces").format(n=quote.quantity)
        items.append(TextItem(RIGHT_MM + 3, y - 1, price, size_pt=9, weight="bold"))
        items.append(TextItem(RIGHT_MM + 15, y - 1, pieces, size_pt=8, rgb=LABEL))
    return items


def _shade(i: int, n: int) -> RGB:
    """Return ink for the first line, lighter for each one after it."""
    share = 0.0 if n == 1 else 0.55 * i / (n - 1)
    red, green, blue = (round(c + (255 - c) * share) for c in INK)
    return (red, green, blue)


def _round_up(value: float) -> float:
    """Return the next 1, 2, 4, 6, 8 or 10 times a power of ten: quarters of it are round too."""
    if value <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (1, 2, 4, 6, 8, 10) if value <= step * power + 1e-9)
