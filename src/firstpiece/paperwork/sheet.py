"""A sheet being set: text that never leaves its measure, rules, boxes and pictures, in mm.

The shop's paper has one look: hairline rules, small grey labels over black values, one accent
colour for what the job waits for. Every other module here draws through this one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.page import (
    INK,
    PAPER_MM,
    ImageItem,
    LineItem,
    Page,
    PageItem,
    ShapeItem,
    TextItem,
)
from firstpiece.model.text_direction import is_right_to_left
from firstpiece.units import MM_PER_POINT

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from firstpiece.model.material import RGB
    from firstpiece.model.paper import FontMetrics

ACCENT: RGB = (166, 61, 28)
RULE: RGB = (207, 199, 184)
LABEL: RGB = (112, 105, 95)
PAPER: RGB = (255, 255, 255)
MARGIN_MM = 14.0
HAIRLINE_MM = 0.12
SMALLEST_PT, SMALLEST_SHARE = 6.0, 0.6


@dataclass(frozen=True, slots=True)
class Face:
    """How a piece of text looks: size [pt], weight, colour, alignment."""

    size_pt: float = 9.0
    weight: str = "regular"
    rgb: RGB = INK
    align: str = "left"

    @property
    def lead_mm(self) -> float:
        """Distance from one baseline to the next [mm]."""
        return self.size_pt * 1.36 * MM_PER_POINT


BODY = Face()
SMALL = Face(7.5)
QUIET = Face(7.5, rgb=LABEL)
CAPTION = Face(6.5, rgb=LABEL)
VALUE = Face(10.0)
STRONG = Face(9.0, "bold")
HEADING = Face(11.0, "bold")
TITLE = Face(21.0, "bold")


@dataclass(slots=True)
class Sheet:
    """One sheet of a paper size, filled back to front."""

    paper: str
    metrics: FontMetrics
    items: list[PageItem] = field(default_factory=list)

    @property
    def width_mm(self) -> float:
        """Width of the paper."""
        return PAPER_MM[self.paper][0]

    @property
    def height_mm(self) -> float:
        """Height of the paper."""
        return PAPER_MM[self.paper][1]

    @property
    def measure_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_MM

    @property
    def right_mm(self) -> float:
        """Right margin's x."""
        return self.width_mm - MARGIN_MM

    def text(self, x: float, y: float, text: str, face: Face = BODY) -> None:
        """Set one line with its baseline at y; nothing is checked."""
        line = self.metrics.printable(text)
        item = TextItem(x, y, line, face.size_pt, face.weight, face.align, face.rgb)
        self.items.append(item)

    def fit(self, x: float, y: float, text: str, width: float, face: Face = BODY) -> None:
        """Set one line no wider than ``width``: smaller letters first, then an ellipsis."""
        line = self.metrics.printable(text)
        size = face.size_pt
        smallest = min(size, max(SMALLEST_PT, SMALLEST_SHARE * size))
        while size > smallest and self.metrics.width_mm(line, size, face.weight) > width:
            size = max(smallest, size - 0.5)
        if self.metrics.width_mm(line, size, face.weight) > width:
            while line and self.metrics.width_mm(line + "…", size, face.weight) > width:
                line = line[:-1].rstrip()
            line += "…"
        self.text(x, y, line, Face(size, face.weight, face.rgb, face.align))

    def paragraph(self, x: float, y: float, text: str, width: float, face: Face = BODY) -> float:
        """Set wrapped text whose top is y; return the y below it."""
        for line in wrap(text, width, face, self.metrics):
            y -= face.lead_mm
            at, look = x, face
            if face.align == "left" and is_right_to_left(line):
                at, look = x + width, replace(face, align="right")
            self.text(at, y + 0.28 * face.size_pt * MM_PER_POINT, line, look)
        return y

    def rule(self, x0: float, y: float, x1: float, rgb: RGB = RULE) -> None:
        """Draw a level hairline."""
        self.line(x0, y, x1, y, rgb)

    def line(self, x0: float, y0: float, x1: float, y1: float, rgb: RGB = INK) -> None:
        """Draw a hairline."""
        self.items.append(LineItem(x0, y0, x1, y1, HAIRLINE_MM, rgb))

    def box(
        self, x: float, y: float, size: tuple[float, float], fill: RGB | None, stroke: RGB | None
    ) -> None:
        """Draw a rectangle with its lower left corner at (x, y)."""
        width, height = size
        ring = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
        self.items.append(ShapeItem((ring,), fill, stroke, HAIRLINE_MM))

    def shape(
        self,
        rings: Iterable[NDArray[np.float64]],
        *,
        fill: RGB | None = None,
        stroke: RGB | None = None,
        stroke_mm: float = HAIRLINE_MM,
        closed: bool = True,
    ) -> None:
        """Draw rings, filled by the even-odd rule and/or outlined."""
        self.items.append(ShapeItem(tuple(rings), fill, stroke, stroke_mm, closed))

    def picture(
        self, x: float, y: float, size: tuple[float, float], pixels: NDArray[np.uint8]
    ) -> None:
        """Lay a picture into a box with its lower left corner at (x, y)."""
        self.items.append(ImageItem(x, y, size[0], size[1], pixels))

    def page(self, title: str) -> Page:
        """Return the finished page."""
        return Page(self.width_mm, self.height_mm, title, tuple(self.items))


def wrap(text: str, width: float, face: Face, metrics: FontMetrics) -> tuple[str, ...]:
    """Return the text broken into lines no wider than ``width`` [mm]; long words are cut."""

    def wide(line: str) -> bool:
        return metrics.width_mm(line, face.size_pt, face.weight) > width

    lines: list[str] = []
    current = ""
    for word in metrics.printable(text).split():
        joined = f"{current} {word}" if current else word
        if not wide(joined):
            current = joined
            continue
        if current:
            lines.append(current)
        current = word
        while wide(current) and len(current) > 1:
            keep = len(current) - 1
            while keep > 1 and wide(current[:keep]):
                keep -= 1
            # A long word is cut after a hyphen of its own where it has one far enough along.
            hyphen = max(current.rfind(sign, 0, keep) for sign in "-/") + 1
            keep = hyphen if 3 * hyphen > keep else keep
            lines.append(current[:keep])
            current = current[keep:]
    return (*lines, current) if current or not lines else tuple(lines)
