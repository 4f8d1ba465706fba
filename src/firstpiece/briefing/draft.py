"""A question before it has its letter, and the words that say where in the design it is.

Input: areas of the cleaned design. Output: drafts, which the stage orders and letters.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstpiece.model.question import Choice
    from firstpiece.model.region import Region, RegionMap

# Beyond this many of a kind the rest are asked about together: nobody answers thirty questions.
MOST_OF_A_KIND = 4


@dataclass(frozen=True, slots=True)
class Draft:
    """One open point without its letter; the fields are those of ``Question``."""

    code: str
    text: str
    region_ids: tuple[int, ...]
    where_mm: tuple[float, float]
    choices: tuple[Choice, ...]
    sewable_height_mm: float | None = None


def split_off_rest(areas: Sequence[Region]) -> tuple[tuple[Region, ...], ...]:
    """Return the areas one by one, and those beyond the most that are asked about as one group."""
    if len(areas) <= MOST_OF_A_KIND + 1:
        return tuple((area,) for area in areas)
    alone = tuple((area,) for area in areas[:MOST_OF_A_KIND])
    return (*alone, tuple(areas[MOST_OF_A_KIND:]))


def point_inside(region: Region) -> tuple[float, float]:
    """Return a point (x, y) [mm] inside the area, for its letter."""
    point = region.polygon.representative_point()
    return (float(point.x), float(point.y))


def place_words(where_mm: tuple[float, float], region_map: RegionMap) -> str:
    """Return where in the design a point (x, y) [mm] lies, in thirds ("at the top left")."""
    x, y = where_mm
    column = _third(x, region_map.width_mm)
    row = _third(y, region_map.height_mm)
    words = {
        (-1, 1): _("at the top left"),
        (0, 1): _("at the top"),
        (1, 1): _("at the top right"),
        (-1, 0): _("on the left"),
        (0, 0): _("in the middle"),
        (1, 0): _("on the right"),
        (-1, -1): _("at the bottom left"),
        (0, -1): _("at the bottom"),
        (1, -1): _("at the bottom right"),
    }
    return words[column, row]


def size_words(region: Region) -> str:
    """Return the size of an area's box ("12 × 8 mm"), a decimal where it is small."""
    x0, y0, x1, y1 = region.polygon.bounds
    digits = 1 if min(x1 - x0, y1 - y0) < 3 else 0
    return f"{x1 - x0:.{digits}f} × {y1 - y0:.{digits}f} mm"


def _third(value: float, extent: float) -> int:
    """Return −1, 0 or 1 for the lower, middle or upper third of a centred extent."""
    return 0 if abs(value) <= extent / 6 else (1 if value > 0 else -1)
