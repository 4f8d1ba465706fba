"""Plain line plots as PNG: panels with axes, ticks, lines and points, drawn with Pillow alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.resources import files as package_files
from itertools import pairwise
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw, ImageFont

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

PAPER, INK, RULE, ACCENT = (251, 248, 242), (40, 36, 32), (200, 192, 180), (138, 59, 18)
SHADES = (ACCENT, (60, 90, 120), (90, 120, 60), (150, 110, 30), (110, 70, 120))
WIDE, HIGH, LEFT, RIGHT, TOP, BOTTOM = 640, 460, 86, 24, 52, 70


@dataclass(frozen=True)
class Line:
    """A named run of points; ``dashed`` ones are a rule or an aim."""

    name: str
    x: Sequence[float]
    y: Sequence[float]
    dashed: bool = False


@dataclass(frozen=True)
class Panel:
    """One pair of axes with its lines."""

    title: str
    x_label: str
    y_label: str
    lines: tuple[Line, ...]
    log: bool = False


def save_plot(panels: Sequence[Panel], path: Path) -> None:
    """Draw panels side by side, up to two in a row, and write them as PNG."""
    cols = min(2, len(panels))
    rows = math.ceil(len(panels) / cols)
    image = Image.new("RGB", (WIDE * cols, HIGH * rows), PAPER)
    for k, panel in enumerate(panels):
        _draw(ImageDraw.Draw(image), panel, (WIDE * (k % cols), HIGH * (k // cols)))
    path.parent.mkdir(exist_ok=True, parents=True)
    image.save(path)


def _font(size: int) -> ImageFont.FreeTypeFont:
    file = package_files("firstpiece") / "data" / "fonts" / "NotoSans-Regular.ttf"
    return ImageFont.truetype(str(file), size=size)


def _draw(pen: ImageDraw.ImageDraw, panel: Panel, corner: tuple[int, int]) -> None:
    small, large = _font(14), _font(17)
    x_ticks = _ticks([v for line in panel.lines for v in line.x], log=panel.log)
    y_ticks = _ticks([v for line in panel.lines for v in line.y], log=panel.log)
    x0, y0 = corner[0] + LEFT, corner[1] + TOP
    x1, y1 = corner[0] + WIDE - RIGHT, corner[1] + HIGH - BOTTOM

    def place(x: float, y: float) -> tuple[float, float]:
        return (
            x0 + (x1 - x0) * _share(x, x_ticks, log=panel.log),
            y1 - (y1 - y0) * _share(y, y_ticks, log=panel.log),
        )

    pen.text((x0, corner[1] + 10), panel.title, font=large, fill=INK)
    for tick in x_ticks:
        x = place(tick, y_ticks[0])[0]
        pen.line((x, y0, x, y1), fill=RULE)
        pen.text((x, y1 + 6), f"{tick:g}", font=small, fill=INK, anchor="ma")
    for tick in y_ticks:
        y = place(x_ticks[0], tick)[1]
        pen.line((x0, y, x1, y), fill=RULE)
        pen.text((x0 - 8, y), f"{tick:g}", font=small, fill=INK, anchor="rm")
    pen.text(((x0 + x1) / 2, y1 + 30), panel.x_label, font=small, fill=INK, anchor="ma")
    pen.text((x1, corner[1] + 14), panel.y_label, font=small, fill=INK, anchor="ra")
    for k, line in enumerate(panel.lines):
        points = [place(x, y) for x, y in zip(line.x, line.y, strict=True)]
        _run(pen, points, SHADES[k % len(SHADES)], dashed=line.dashed)
        end = points[-1]
        side = "rb" if end[0] > (x0 + x1) / 2 else "lb"
        pen.text((end[0], end[1] - 6), line.name, font=small, fill=SHADES[k % len(SHADES)],
                 anchor=side)  # fmt: skip


def _run(
    pen: ImageDraw.ImageDraw,
    points: list[tuple[float, float]],
    shade: tuple[int, int, int],
    *,
    dashed: bool,
) -> None:
    for a, b in pairwise(points):
        n = max(1, int(math.dist(a, b) / 8)) if dashed else 1
        for k in range(0, n, 2 if dashed else 1):
            ends = [a[i] + (b[i] - a[i]) * s for s in (k / n, (k + 1) / n) for i in (0, 1)]
            pen.line(ends, fill=shade, width=2)
    if not dashed:
        for x, y in points:
            pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=shade)


def _ticks(values: list[float], *, log: bool) -> list[float]:
    if log:
        low, high = math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)))
        return [10.0**k for k in range(low, max(high, low + 1) + 1)]
    top = max(values)
    step = 10.0 ** math.floor(math.log10(top / 4)) if top > 0 else 1.0
    step *= next(m for m in (1, 2, 2.5, 5, 10) if top / (step * m) <= 6)
    return [step * k for k in range(math.ceil(top / step) + 1)]


def _share(value: float, ticks: list[float], *, log: bool) -> float:
    if log:
        low, high = math.log10(ticks[0]), math.log10(ticks[-1])
        return (math.log10(value) - low) / (high - low)
    return (value - ticks[0]) / (ticks[-1] - ticks[0])
