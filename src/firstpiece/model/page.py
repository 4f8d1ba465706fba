"""Drawn paper, independent of any writer: millimetres from the lower left corner, y up."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB

INK: RGB = (32, 30, 28)

PAPER_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


@dataclass(frozen=True, slots=True)
class TextItem:
    """A line of text; (x, y) is its baseline at ``align`` left, centre or right."""

    x_mm: float
    y_mm: float
    text: str
    size_pt: float = 9.0
    weight: str = "regular"
    align: str = "left"
    rgb: RGB = INK


@dataclass(frozen=True, slots=True)
class LineItem:
    """A straight rule."""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float
    width_mm: float = 0.15
    rgb: RGB = INK


@dataclass(frozen=True, slots=True, eq=False)
class ShapeItem:
    """Rings filled by the even-odd rule and/or outlined; each ring is (n, 2) float64 [mm]."""

    rings: tuple[NDArray[np.float64], ...]
    fill: RGB | None = None
    stroke: RGB | None = None
    stroke_mm: float = 0.15
    closed: bool = True

    def __post_init__(self) -> None:
        rings = tuple(frozen_array(r, np.float64, (None, 2)) for r in self.rings)
        object.__setattr__(self, "rings", rings)


@dataclass(frozen=True, slots=True, eq=False)
class ImageItem:
    """A raster laid into a box; ``pixels`` (h, w, 3 or 4) uint8, row 0 at the top."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    pixels: NDArray[np.uint8]


PageItem = TextItem | LineItem | ShapeItem | ImageItem


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """One sheet: its size, a title for the file's metadata, and what is drawn, back to front."""

    width_mm: float
    height_mm: float
    title: str
    items: tuple[PageItem, ...] = field(default=())
