"""A picture or drawing as it arrived, decoded and made safe, before anything is decided about it.

Pixel and drawing coordinates (origin top left, y down) live here and in ``tracing`` only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.material import RGB


@dataclass(frozen=True, slots=True, eq=False)
class PaintedShape:
    """One painted shape of a drawing, flattened to straight pieces.

    Parameters
    ----------
    area : shapely.Polygon or shapely.MultiPolygon
        What the paint covers, valid, in drawing units, y down; strokes are already widened.
    rgb : tuple of int
        Its sRGB colour, with transparency already laid over white.
    is_stroke : bool
        True when the shape was drawn as a line with a width.
    """

    area: shapely.Polygon | shapely.MultiPolygon
    rgb: RGB
    is_stroke: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Artwork:
    """What the customer sent: pixels, or painted shapes in order (first is painted first).

    Parameters
    ----------
    name : str
        A label for people; never used as a path.
    width, height : float
        Size of the canvas in pixels or drawing units.
    pixels : (h, w, 4) uint8 [sRGB + alpha] or None
    shapes : tuple of PaintedShape or None
        Exactly one of ``pixels`` and ``shapes`` is given.
    notes : tuple of Finding
        What was simplified while reading (a gradient made flat, text without its font).
    """

    name: str
    width: float
    height: float
    pixels: NDArray[np.uint8] | None = None
    shapes: tuple[PaintedShape, ...] | None = None
    notes: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        if (self.pixels is None) == (self.shapes is None):
            msg = "artwork is either pixels or shapes"
            raise ValueError(msg)
        if self.pixels is not None:
            pixels = frozen_array(self.pixels, np.uint8, (None, None, 4))
            object.__setattr__(self, "pixels", pixels)
