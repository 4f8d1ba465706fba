"""Letters in the picture found as rows of stroke shapes: alike in height and stroke, on one line.

Input: a design. Output: ``LetterRow`` values, each with its letters in reading order and the line
or arc their feet stand on. Nothing is read: a row of posts is a row of letters too, so rows are
only ever offered.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.lettering import ArcBaseline, StraightBaseline

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.region import Region, RegionMap

FEWEST = 3
"""Two shapes side by side are no row."""

TALLEST_SHARE = 0.6
"""A shape taller than this share of the design's longer side is no letter."""

STOUTEST = 0.45
"""Largest stroke width of a letter as a share of its height."""

HEIGHT_RATIO = 1.9
"""Small letters against capitals and ascenders of one row (x-height is 0.5 to 0.75 of them)."""

STROKE_RATIO = 1.8
WIDEST_GAP = 1.3
"""Between neighbours, in letter heights: a word space is a third to two thirds."""

OFF_LINE = 0.16
"""How far a foot may stand off the line, in letter heights; hands are no better."""

DOT_SHARE = 0.55
"""Marks that belong to a letter are smaller than this share of the row's height."""


@dataclass(frozen=True, slots=True, eq=False)
class LetterRow:
    """A row of letters.

    Parameters
    ----------
    letters : tuple of tuple of int
        Area numbers of each letter (the letter i has two), along the baseline.
    baseline : StraightBaseline or ArcBaseline
        Where most feet stand.
    height_mm : float [mm]
        Of its tallest letters: capitals, when it has some.
    off_line_mm : float [mm]
        How far the worst foot stands off the baseline, those that hang below (g, y) left out.
    """

    letters: tuple[tuple[int, ...], ...]
    baseline: StraightBaseline | ArcBaseline
    height_mm: float
    off_line_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class _Shape:
    """A region that could be a letter: its size and stroke width."""

    region: Region
    height: float
    stroke: float
    centre: NDArray[np.float64]


def find_letters(region_map: RegionMap) -> tuple[LetterRow, ...]:
    """Return the rows of letters in a design, those with most letters first.

    Parameters
    ----------
    region_map : RegionMap

    Notes
    -----
    Shapes of one colour are neighbours when their heights differ by less than 1.9, their strokes
    by less than 1.8, and the gap between them is less than 1.3 heights; connected shapes are a row
    when three or more have their feet on one line or one arc. Joined script is one shape and is
    not found.
    """
    largest = TALLEST_SHARE * max(region_map.width_mm, region_map.height_mm)
    shapes = [s for r in region_map.sewn_regions if (s := _shape(r, largest)) is not None]
    rows = []
    for group in _groups(shapes):
        row = _row(group, region_map)
        if row is not None:
            rows.append(row)
    rows.sort(key=lambda row: (-len(row.letters), row.letters))
    return tuple(rows)


def _shape(region: Region, largest: float) -> _Shape | None:
    x0, y0, x1, y1 = region.polygon.bounds
    height = max(y1 - y0, 0.5 * (x1 - x0))
    if max(x1 - x0, y1 - y0) > largest:
        return None
    # Mean width of a long band; a disc has its radius, which no stroke of a letter is.
    stroke = 2.0 * region.polygon.area / region.polygon.length
    if stroke > STOUTEST * height:
        return None
    centre = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    return _Shape(region, height, stroke, centre)


def _groups(shapes: list[_Shape]) -> list[list[_Shape]]:
    """Return the connected groups of shapes that look like neighbours in a row."""
    group = list(range(len(shapes)))

    def root(i: int) -> int:
        while group[i] != i:
            i = group[i]
        return i

    for i, a in enumerate(shapes):
        for j in range(i + 1, len(shapes)):
            if _are_alike(a, shapes[j]):
                low, high = sorted((root(i), root(j)))
                group[high] = low
    members: dict[int, list[_Shape]] = {}
    for i, shape in enumerate(shapes):
        members.setdefault(root(i), []).append(shape)
    return [members[k] for k in sorted(members) if len(members[k]) >= FEWEST]


def _are_alike(a: _Shape, b: _Shape) -> bool:
    if a.region.color_index != b.region.color_index:
        return False
    tall, small = max(a.height, b.height), min(a.height, b.height)
    thick, thin = max(a.stroke, b.stroke), min(a.stroke, b.stroke)
    if tall > HEIGHT_RATIO * small or thick > STROKE_RATIO * thin:
        return False
    return float(shapely.distance(a.region.polygon, b.region.polygon)) < WIDEST_GAP * small


def _row(group: list[_Shape], region_map: RegionMap) -> LetterRow | None:
    """Return the row of a group whose feet stand on a line or an arc; strays are left out."""
    for _round in range(4):
        if len(group) < FEWEST:
            return None
        found = _best_baseline(group)
        if found is None:
            return None
        baseline, feet = found
        height = float(np.quantile([s.height for s in group], 0.8))
        # A foot may hang below by the depth of a g; what stands above the line is another row's.
        strays = [i for i, foot in enumerate(feet.tolist()) if not -0.5 < foot / height < OFF_LINE]
        if not strays:
            return _finished(group, baseline, feet, height, region_map)
        group = [s for i, s in enumerate(group) if i not in strays]
    return None


def _best_baseline(
    group: Sequence[_Shape],
) -> tuple[StraightBaseline | ArcBaseline, NDArray[np.float64]] | None:
    """Return the line or arc on which most feet stand, and how far each foot is above it."""
    height = float(np.median([s.height for s in group]))
    tries: list[StraightBaseline | ArcBaseline | None] = [_line(group)]
    if len(group) >= FEWEST + 1:
        tries += [_arc(group, is_inside=False), _arc(group, is_inside=True)]
    best, score = None, 0.7
    for baseline in tries:
        if baseline is None:
            continue
        feet = np.array([_foot(s.region.polygon, baseline) for s in group])
        on = np.abs(feet) < OFF_LINE * height
        share = float(on.mean()) - 0.3 * float(np.abs(feet[on]).mean() if on.any() else 0) / height
        # A line explains more with less: an arc must do clearly better.
        if share > score + (0.02 if isinstance(baseline, ArcBaseline) else 0.0):
            best, score = (baseline, feet), share
    return best


def _line(group: Sequence[_Shape]) -> StraightBaseline | None:
    """Return the straight baseline: the centres' direction, then the median foot."""
    centres = np.array([s.centre for s in group])
    middle = centres.mean(axis=0)
    direction = np.linalg.svd(centres - middle)[2][0]
    if direction[0] < 0 or (abs(direction[0]) < 1e-9 and direction[1] < 0):
        direction = -direction
    angle = math.atan2(direction[1], direction[0])
    for _round in range(3):
        line = StraightBaseline((float(middle[0]), float(middle[1])), angle)
        feet = np.array([_lowest(s.region.polygon, line) for s in group])
        along = feet @ [math.cos(angle), math.sin(angle)]
        across = feet @ [-math.sin(angle), math.cos(angle)]
        slope, level = _steady_line(along, across)
        middle = middle + (level + slope * float(along.mean()) - middle @ [
            -math.sin(angle), math.cos(angle)
        ]) * np.array([-math.sin(angle), math.cos(angle)])  # fmt: skip
        angle += math.atan(slope)
    return StraightBaseline((float(middle[0]), float(middle[1])), angle)


def _steady_line(x: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[float, float]:
    """Return slope and level of the line through most points: the median of pairwise slopes.

    Theil 1950: a third of the feet may hang below the line without moving it.
    """
    i, j = np.triu_indices(len(x), 1)
    apart = np.abs(x[j] - x[i]) > 1e-9
    slopes = (y[j] - y[i])[apart] / (x[j] - x[i])[apart]
    slope = float(np.median(slopes)) if len(slopes) else 0.0
    return slope, float(np.median(y - slope * x))


def _arc(group: Sequence[_Shape], *, is_inside: bool) -> ArcBaseline | None:
    """Return the circle through the centres, moved to the median foot."""
    centres = np.array([s.centre for s in group])
    # Kåsa's fit: x² + y² = 2ax + 2by + c is linear in a, b, c.
    rows = np.column_stack([2.0 * centres, np.ones(len(centres))])
    solution, _res, rank, _s = np.linalg.lstsq(rows, (centres**2).sum(axis=1), rcond=None)
    if rank < 3:
        return None
    a, b, c = solution.tolist()
    square = c + a * a + b * b
    height = float(np.median([s.height for s in group]))
    if square <= 0 or not 1.5 * height < math.sqrt(square) < 200.0 * height:
        return None
    middle = float(np.angle(np.exp(1j * np.arctan2(*(centres - [a, b]).T[::-1])).mean()))
    arc = ArcBaseline(math.sqrt(square), (a, b), middle, is_inside)
    feet = np.array([_foot(s.region.polygon, arc) for s in group])
    radius = arc.radius_mm + (-1.0 if is_inside else 1.0) * float(np.median(feet))
    if radius <= height:
        return None
    return ArcBaseline(radius, (a, b), middle, is_inside)


def _lowest(polygon: shapely.Polygon, line: StraightBaseline) -> NDArray[np.float64]:
    xy = shapely.get_coordinates(polygon)
    across = xy @ [-math.sin(line.angle_rad), math.cos(line.angle_rad)]
    lowest: NDArray[np.float64] = xy[across.argmin()]
    return lowest


def _foot(polygon: shapely.Polygon, baseline: StraightBaseline | ArcBaseline) -> float:
    """Return how far a shape's lowest point is above the baseline [mm]."""
    return float(heights_above(shapely.get_coordinates(polygon), baseline).min())


def heights_above(
    xy_mm: NDArray[np.float64], baseline: StraightBaseline | ArcBaseline
) -> NDArray[np.float64]:
    """Return how far points are above a baseline.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    baseline : StraightBaseline or ArcBaseline

    Returns
    -------
    (n,) float64 [mm]
        Above 0 on the side of the letters' heads.
    """
    if isinstance(baseline, StraightBaseline):
        angle = baseline.angle_rad
        moved = xy_mm - np.array(baseline.middle_mm)
        across: NDArray[np.float64] = moved @ np.array([-math.sin(angle), math.cos(angle)])
        return across
    moved = xy_mm - np.array(baseline.centre_mm)
    far: NDArray[np.float64] = np.hypot(moved[:, 0], moved[:, 1]) - baseline.radius_mm
    return -far if baseline.is_inside else far


def along_baseline(
    xy_mm: NDArray[np.float64], baseline: StraightBaseline | ArcBaseline
) -> NDArray[np.float64]:
    """Return how far points are along a baseline from its middle, in the direction of reading.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    baseline : StraightBaseline or ArcBaseline

    Returns
    -------
    (n,) float64 [mm]
    """
    if isinstance(baseline, StraightBaseline):
        angle = baseline.angle_rad
        moved = xy_mm - np.array(baseline.middle_mm)
        along: NDArray[np.float64] = moved @ np.array([math.cos(angle), math.sin(angle)])
        return along
    moved = xy_mm - np.array(baseline.centre_mm)
    turn = np.arctan2(moved[:, 1], moved[:, 0]) - baseline.middle_rad
    turn = (turn + math.pi) % (2.0 * math.pi) - math.pi
    way = 1.0 if baseline.is_inside else -1.0
    on_arc: NDArray[np.float64] = way * turn * baseline.radius_mm
    return on_arc


def _finished(
    group: list[_Shape],
    baseline: StraightBaseline | ArcBaseline,
    feet: NDArray[np.float64],
    height: float,
    region_map: RegionMap,
) -> LetterRow:
    places = along_baseline(np.array([s.centre for s in group]), baseline)
    order = np.argsort(places, kind="stable").tolist()
    letters = [[group[i].region.id] for i in order]
    for mark in _marks(group, baseline, height, region_map):
        near = [shapely.distance(mark.polygon, group[i].region.polygon) for i in order]
        letters[int(np.argmin(near))].append(mark.id)
    standing = np.abs(feet)[np.abs(feet) < OFF_LINE * height]
    return LetterRow(
        tuple(tuple(letter) for letter in letters),
        baseline,
        height,
        float(standing.max(initial=0.0)),
    )


def _marks(
    group: list[_Shape],
    baseline: StraightBaseline | ArcBaseline,
    height: float,
    region_map: RegionMap,
) -> list[Region]:
    """Return the dots and accents that stand over or by the letters of a row."""
    taken = {s.region.id for s in group}
    row = shapely.union_all([s.region.polygon for s in group])
    found = []
    for region in region_map.sewn_regions:
        x0, y0, x1, y1 = region.polygon.bounds
        if region.id in taken or region.color_index != group[0].region.color_index:
            continue
        if max(x1 - x0, y1 - y0) > DOT_SHARE * height:
            continue
        if shapely.distance(region.polygon, row) > 0.4 * height:
            continue
        above = heights_above(shapely.get_coordinates(region.polygon), baseline)
        if above.max() > -0.3 * height and above.min() < 1.5 * height:
            found.append(region)
    return found
