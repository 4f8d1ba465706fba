"""Letters found in the picture put on one baseline and to one height.

Input: a design and a ``StraightenLetters``. Output: ``Edited``. A letter is moved up or down and
scaled as a whole; how it is drawn stays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.addressing import find_areas
from firstpiece.editing.letters_found import along_baseline, find_letters, heights_above
from firstpiece.editing.means import Edited
from firstpiece.editing.placing import LaidShape, lay_shapes, shape_with_islands
from firstpiece.errors import EditError
from firstpiece.lettering.baselines import place_at
from firstpiece.model.lettering import placed_xy, unplaced_xy

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.editing.letters_found import LetterRow
    from firstpiece.editing.means import EditMeans
    from firstpiece.model.edit import StraightenLetters
    from firstpiece.model.region import Region, RegionMap

SAME_LEVEL = 0.16
"""Heads and feet this near to a level (in letter heights) are meant to be on it."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A letter from its foot to its head before and after, as heights above the baseline."""

    low: float
    high: float
    new_low: float
    new_high: float

    @property
    def scale(self) -> float:
        """How much larger the letter becomes."""
        return (self.new_high - self.new_low) / (self.high - self.low)


def straighten_letters(region_map: RegionMap, edit: StraightenLetters, means: EditMeans) -> Edited:
    """Return the design with rows of letters straightened."""
    rows = _rows_meant(region_map, edit)
    going: set[int] = set()
    coming: list[LaidShape] = []
    moved = 0.0
    for row in rows:
        for letter, stretch in zip(row.letters, _stretches(region_map, row), strict=True):
            moved = max(
                moved, abs(stretch.new_low - stretch.low), abs(stretch.new_high - stretch.high)
            )
            parts = [region_map.region(number) for number in letter]
            for part in parts:
                gone, own = shape_with_islands(region_map, part)
                going |= gone
                coming += [
                    LaidShape(piece.id, _moved_shape(piece, parts, row, stretch), piece.color_index)
                    for piece in (part, *own)
                ]
    made = lay_shapes(region_map, going, coming, next_id=means.first_new(region_map))
    sentence = _(
        "{n} letters in {rows} rows stand on their lines at one height; none moved by more than"
        " {mm:.2f} mm."
    ).format(n=sum(len(row.letters) for row in rows), rows=len(rows), mm=moved)
    return Edited(made, sentence, moved)


def _rows_meant(region_map: RegionMap, edit: StraightenLetters) -> list[LetterRow]:
    rows = find_letters(region_map)
    if edit.areas:
        wanted = {region.id for region in find_areas(region_map, edit.areas)}
        rows = tuple(r for r in rows if wanted & {n for letter in r.letters for n in letter})
    if not rows:
        raise EditError(
            _("no row of letters was found there"),
            remedy=_("name areas that stand side by side like letters"),
        )
    return list(rows)


def _stretches(region_map: RegionMap, row: LetterRow) -> list[_Stretch]:
    """Return where each letter's foot and head are, and where they should be."""
    ends = []
    for letter in row.letters:
        above = heights_above(_letter_xy(region_map, letter[:1]), row.baseline)
        ends.append((float(above.min()), float(above.max())))
    near = SAME_LEVEL * row.height_mm
    levels = _levels([high for _low, high in ends], near)
    found = []
    for low, high in ends:
        new_low = 0.0 if abs(low) <= near else low
        level = min(levels, key=lambda top: (abs(top - high), top))
        new_high = level if abs(level - high) <= near else high
        found.append(_Stretch(low, high, new_low, new_high))
    return found


def _levels(highs: list[float], near: float) -> list[float]:
    """Return the heights at which heads end: capitals, and small letters when there are some.

    Heads are sorted and cut where two that follow differ by more than ``near``; a level is the
    median of two heads or more.
    """
    levels, group = [], [sorted(highs)[0]]
    for high in [*sorted(highs)[1:], math.inf]:
        if high - group[-1] <= near:
            group.append(high)
            continue
        if len(group) > 1:
            levels.append(float(np.median(group)))
        group = [high]
    return levels or [float(np.median(highs))]


def _letter_xy(region_map: RegionMap, letter: tuple[int, ...]) -> NDArray[np.float64]:
    return shapely.get_coordinates([region_map.region(number).polygon for number in letter])


def _moved_shape(
    piece: Region, parts: list[Region], row: LetterRow, stretch: _Stretch
) -> shapely.Polygon:
    """Return a piece of a letter where it stands afterwards: scaled about its foot and moved."""
    x0, y0, x1, y1 = parts[0].polygon.bounds
    centre = np.array([[(x0 + x1) / 2.0, (y0 + y1) / 2.0]])
    along = float(along_baseline(centre, row.baseline)[0])
    origin, angle = place_at(row.baseline, along, 0.0)

    def move(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        upright = unplaced_xy(xy, origin_mm=origin, angle_rad=angle)
        upright[:, 0] *= stretch.scale
        upright[:, 1] = (upright[:, 1] - stretch.low) * stretch.scale + stretch.new_low
        return placed_xy(upright, origin_mm=origin, angle_rad=angle)

    moved: shapely.Polygon = shapely.transform(piece.polygon, move)
    return moved
