"""The same letter sews the same way: stitches worked out upright, once a form, and carried along.

Input: areas that know which piece of which letter they are. Output: upright shapes to plan for, and
paths where the letters stand, on a line as on an arc.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.lettering import placed_xy, unplaced_xy
from firstpiece.model.stitch import Role
from firstpiece.planning.area_stitches import sew_area
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.travel import HiddenWays

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from firstpiece.model.region import Region
    from firstpiece.planning.recipe import Recipe

    Floats = NDArray[np.float64]

# Decimals of a millimetre to which an upright form is kept, so that a turn leaves no trace in it.
FORM_DIGITS = 4
# What one more cut inside a letter counts for against a millimetre on the way to its neighbours.
RUN_COUNTS_MM = 40.0
# A hidden way inside the letter counts less than the open one to the next.
LEAD_COUNTS = 0.4
# The way in keeps this far inside the rim; nearer to the corner than this no way in is needed.
INSET_MM = 0.5
NEAR_MM = 1.5


@dataclass(slots=True, eq=False)
class LetterForms:
    """The upright shape of every letter piece, each once, from where it is first used.

    Parameters
    ----------
    regions : sequence of Region
    middle_mm : (2,) float64 [mm]
        What the areas, but not their letters, were moved by towards the origin.
    """

    regions: Sequence[Region]
    middle_mm: Floats
    upright: dict[tuple[str, int], shapely.Polygon] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for region in self.regions:
            letter = region.letter
            if letter is None or (letter.key, letter.part) in self.upright:
                continue
            shape = shapely.transform(region.polygon, self._upright_xy(region))
            if shape.is_valid and isinstance(shape, shapely.Polygon):
                self.upright[letter.key, letter.part] = shape

    def form_of(self, region: Region, shape: shapely.Polygon) -> shapely.Polygon | None:
        """Return the upright form of an area; None when it is no letter or its shape was changed.

        Parameters
        ----------
        region : Region
        shape : shapely.Polygon [mm]
            What is to be sewn for it.
        """
        if region.letter is None or shape is not region.polygon:
            return None
        return self.upright.get((region.letter.key, region.letter.part))

    def carried(self, region: Region, paths: list[Path]) -> list[Path]:
        """Return paths of an upright form where the area's letter stands."""
        letter = region.letter
        if letter is None:
            return paths
        origin = self._origin(region)
        return [
            Path(placed_xy(p.xy_mm, origin_mm=origin, angle_rad=letter.angle_rad), p.role)
            for p in paths
        ]

    def turned(self, region: Region, recipe: Recipe) -> Recipe:
        """Return an upright form's recipe as it is where the letter stands."""
        if region.letter is None:
            return recipe
        return replace(recipe, angle_rad=(recipe.angle_rad + region.letter.angle_rad) % np.pi)

    def _upright_xy(self, region: Region) -> Callable[[Floats], Floats]:
        letter, origin = region.letter, self._origin(region)
        assert letter is not None
        angle = letter.angle_rad

        def upright(xy_mm: Floats) -> Floats:
            return np.round(unplaced_xy(xy_mm, origin_mm=origin, angle_rad=angle), FORM_DIGITS)

        return upright

    def _origin(self, region: Region) -> tuple[float, float]:
        assert region.letter is not None
        x, y = np.array(region.letter.origin_mm) - self.middle_mm
        return float(x), float(y)


def sew_form(form: shapely.Polygon, recipe: Recipe) -> list[Path]:
    """Return the stitches of an upright letter piece that joins its neighbours by the nearest ways.

    The needle comes in low on the left, runs under what it will sew to where the letter's own
    stitches begin, and goes out low on the right, as near as one of several beginnings allows.
    """
    x0, y0, x1, y1 = form.bounds
    low_left, low_right = np.array([x0, y0]), np.array([x1, y0])
    inner = form.buffer(-INSET_MM)
    inner = form if inner.is_empty else inner
    first = _nearest(inner, low_left)
    best: list[Path] = []
    least = np.inf
    for x, y in ((x1, y0), (x0, y0), (x1, y1), (x0, y1), (x1, (y0 + y1) / 2)):
        entry = _nearest(form, np.array([x, y]))
        paths = sew_area(form, recipe, entry_mm=entry, exit_mm=_nearest(form, low_right))
        if not paths:
            continue
        way = float(np.hypot(*(paths[-1].end - low_right))) + RUN_COUNTS_MM * len(paths)
        way += LEAD_COUNTS * float(np.hypot(*(paths[0].start - first)))
        if way < least - 1e-6:
            best, least = paths, way
    lead = HiddenWays(form).find(first, best[0].start) if best else None
    if lead is None or float(np.hypot(*(best[0].start - low_left))) <= NEAR_MM:
        return best
    return [join_paths([make_path(lead[:-1], Role.TRAVEL), best[0]]), *best[1:]]


def _nearest(shape: BaseGeometry, place: Floats) -> Floats:
    return np.asarray(shapely.shortest_line(shape, shapely.Point(place)).coords[0])


def letter_ranks(regions: Sequence[Region]) -> list[tuple[int, int] | None]:
    """Return, for each area, which text it belongs to and which letter of it; None for others.

    A text's letters follow each other in the design; where their count falls back a new one begins.
    """
    ranks: list[tuple[int, int] | None] = []
    text, last = 0, -1
    for region in regions:
        if region.letter is None:
            ranks.append(None)
            continue
        if region.letter.order < last:
            text += 1
        last = region.letter.order
        ranks.append((text, last))
    return ranks
