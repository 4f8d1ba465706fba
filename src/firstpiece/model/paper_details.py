"""What the shop adds to a job's paper: sizes, tickets, cones, other colourways, last time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Garment, ThreadColor


@dataclass(frozen=True, slots=True, eq=False)
class SewoutPicture:
    """A sew-out picture that is already drawn, so that paper need not draw it again.

    Parameters
    ----------
    pixels : (h, w, 3) uint8 [sRGB]
        Row 0 is the top.
    window_mm : tuple of float [mm]
        Left, bottom, width and height of what it shows.
    """

    pixels: NDArray[np.uint8]
    window_mm: tuple[float, float, float, float]

    def __post_init__(self) -> None:
        object.__setattr__(self, "pixels", frozen_array(self.pixels, np.uint8, (None, None, 3)))


@dataclass(frozen=True, slots=True)
class PaperColorway:
    """The same design in other threads, on another garment when one is named.

    ``threads`` stand for the plan's threads, one for one.
    """

    name: str
    threads: tuple[ThreadColor, ...]
    garment: Garment | None = None


@dataclass(frozen=True, slots=True)
class SizeRow:
    """Pieces of one garment size, and how far the design is from its mark [mm] on that size.

    ``distance_mm`` None takes the usual distance, graded by size. ``garment`` is another than the
    job's usual one, or the same in its own words of where the design goes, which then are of this
    size; None takes the job's.
    """

    size: str
    pieces: int
    distance_mm: float | None = None
    garment: Garment | None = None


@dataclass(frozen=True, slots=True)
class NeedleCone:
    """What stands on one needle; ``thread`` None is an empty or unused needle.

    ``is_changed`` tells that this cone must be put on before the job, ``is_used`` that the job sews
    with it; others stay on for another job.
    """

    needle: int
    thread: ThreadColor | None
    is_changed: bool = False
    is_used: bool = True


@dataclass(frozen=True, slots=True)
class PieceLabel:
    """A label for one piece: the code text under its QR symbol, a title, a few short lines."""

    code: str
    title: str
    lines: tuple[str, ...] = ()
    colors: tuple[ThreadColor, ...] = ()
