"""A design larger than its hoop, parted along the least harmful lines into hoopings.

Input: a design and a hoop. Output: hoopings, each with its areas about the hoop's centre and the
marks it shares with an earlier one. A line goes between areas where it can; letters are never cut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import InputError
from firstpiece.model.region import Region, RegionMap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.material import Hoop

    Floats = NDArray[np.float64]
    Bounds = tuple[float, float, float, float]

# Room for widening, ties and marks round what is sewn.
EDGE_MM = 6.0
STEP_MM = 0.5
# Two pieces of one area overlap by this, so that no cloth opens between them.
LAP_MM = 0.8
# What a word parted between two hoopings counts for against a millimetre of cut thread.
WORD_MM = 30.0
# What one more hooping counts for.
HOOPING_MM = 120.0
MOST_HOOPINGS = 24
MARK_GRID = 9
# An arm of a mark, and a little.
MARK_INSET_MM = 4.0
CLEAR_OF_WORK_MM = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Hooping:
    """One hooping of a design.

    Parameters
    ----------
    number : int
        From 1, in sewing order.
    region_map : RegionMap
        Its areas with the hoop's centre at the origin.
    centre_mm : tuple of float [mm]
        Where the hoop's centre lies in the whole design.
    marks_mm : (k, 2) float64 [mm]
        Marks it shares with hooping ``follows``, in the whole design; none for the first.
    follows : int
        The hooping that sews its marks, 0 for the first.
    cut_mm : float [mm]
        How much thread width its line crossed.
    """

    number: int
    region_map: RegionMap
    centre_mm: tuple[float, float]
    marks_mm: Floats
    follows: int
    cut_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    regions: tuple[Region, ...]
    cut_mm: float = 0.0

    @property
    def bounds(self) -> Bounds:
        x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in self.regions])
        return float(x0), float(y0), float(x1), float(y1)


def split_hoopings(region_map: RegionMap, hoop: Hoop) -> tuple[Hooping, ...]:
    """Return the hoopings that sew a design in a hoop, one when it fits.

    Parameters
    ----------
    region_map : RegionMap
    hoop : Hoop

    Raises
    ------
    InputError
        When a letter is larger than the hoop, or more than ``MOST_HOOPINGS`` would be needed.
    """
    room = field_of(hoop)
    parts = _split(_Part(region_map.sewn_regions), room)
    if len(parts) > MOST_HOOPINGS:
        raise InputError(
            _("{n} hoopings would be needed").format(n=len(parts)),
            where=hoop.label,
            remedy=_("choose a larger hoop or a smaller design"),
        )
    found: list[Hooping] = []
    for number, part in enumerate(parts, start=1):
        follows, centre, marks = _marks(parts[: number - 1], found, part, room)
        found.append(
            Hooping(number, _about(region_map, part, centre), centre, marks, follows, part.cut_mm)
        )
    return tuple(found)


def field_of(hoop: Hoop) -> Floats:
    """Return the width and height (2,) [mm] that areas may take in a hoop."""
    field = np.array([hoop.width_mm, hoop.height_mm]) - 2 * hoop.margin_mm
    if hoop.is_round:
        # The largest rectangle of an ellipse with the same proportions.
        field = field / math.sqrt(2)
    return np.asarray(field - 2 * EDGE_MM)


def _split(part: _Part, room: Floats) -> list[_Part]:
    x0, y0, x1, y1 = part.bounds
    size = np.array([x1 - x0, y1 - y0])
    if (size <= room + 1e-9).all():
        return [part]
    axis = int(np.argmax(size / room))
    low, high = (x0, x1) if axis == 0 else (y0, y1)
    width = float(room[axis])
    # The pieces of a cut area lap over the line; both sides must hold that too.
    places = np.arange(low + STEP_MM, min(low + width, high - STEP_MM) - LAP_MM, STEP_MM)
    best: tuple[float, float, _Part, _Part] | None = None
    for at in places.tolist():
        harm, left, right = _parted(part, axis, at, (low, high, width))
        if not left.regions or not right.regions:
            continue
        harm += HOOPING_MM * (_needs(left, axis, width) + _needs(right, axis, width))
        rank = (harm, abs(at - (low + high) / 2))
        if best is None or rank < best[:2]:
            best = (*rank, left, right)
    if best is None or not math.isfinite(best[0]):
        raise InputError(
            _("a letter is larger than the hoop, and letters are never cut"),
            remedy=_("choose a larger hoop or smaller letters"),
        )
    return [*_split(best[2], room), *_split(best[3], room)]


def _parted(
    part: _Part, axis: int, at: float, span: tuple[float, float, float]
) -> tuple[float, _Part, _Part]:
    """Return what a line does harm to, and the areas on its two sides.

    An area that reaches over the line stays whole on the side that holds more of it, as long as
    that side's field holds it; only what fits neither is cut.
    """
    low, high, room = span
    left: list[Region] = []
    right: list[Region] = []
    harm = 0.0
    left_room, right_low = low + room, high - _whole(high - at + LAP_MM / 2, room)
    for region in part.regions:
        b = region.polygon.bounds
        first, last = b[axis], b[axis + 2]
        mostly_left = (first + last) / 2 <= at
        if last <= at or (mostly_left and last <= left_room):
            left.append(region)
        elif first >= at or (first >= right_low and not mostly_left):
            right.append(region)
        elif last <= left_room:
            left.append(region)
        elif first >= right_low:
            right.append(region)
        elif region.letter is not None:
            return float("inf"), _Part(()), _Part(())
        else:
            harm += _crossed(region.polygon, axis, at)
            left += _pieces(region, axis, (-np.inf, at + LAP_MM / 2))
            right += _pieces(region, axis, (at - LAP_MM / 2, np.inf))
    cut = part.cut_mm + harm
    if any(r.letter for r in left) and any(r.letter for r in right):
        harm += WORD_MM
    return harm, _Part(tuple(left), part.cut_mm), _Part(tuple(right), cut)


def _needs(part: _Part, axis: int, width: float) -> int:
    """Return how many hoopings a part needs at least along one axis."""
    bounds = part.bounds
    return math.ceil((bounds[axis + 2] - bounds[axis]) / width - 1e-9)


def _whole(length: float, room: float) -> float:
    """Return a length rounded up to whole rooms."""
    return math.ceil(length / room - 1e-9) * room


def _crossed(polygon: shapely.Polygon, axis: int, at: float) -> float:
    x0, y0, x1, y1 = polygon.bounds
    ends = [(at, y0 - 1), (at, y1 + 1)] if axis == 0 else [(x0 - 1, at), (x1 + 1, at)]
    return float(polygon.intersection(shapely.LineString(ends)).length)


def _pieces(region: Region, axis: int, span: tuple[float, float]) -> list[Region]:
    x0, y0, x1, y1 = region.polygon.bounds
    if axis == 0:
        x0, x1 = max(x0, span[0]), min(x1, span[1])
    else:
        y0, y1 = max(y0, span[0]), min(y1, span[1])
    cut = shapely.intersection(region.polygon, shapely.box(x0, y0, x1, y1))
    parts = [p for p in shapely.get_parts(cut) if isinstance(p, shapely.Polygon) and p.area > 0.05]
    return [replace(region, polygon=p, lines=(), beneath=None) for p in parts]


def _about(region_map: RegionMap, part: _Part, centre: tuple[float, float]) -> RegionMap:
    """Return a part as a design about its hoop's centre; pieces get numbers of their own."""
    regions, used = [], set()
    following = max(r.id for r in region_map.regions) + 1
    for region in part.regions:
        number = region.id
        if number in used:
            number, following = following, following + 1
        used.add(number)
        regions.append(moved_region(region, number, (-centre[0], -centre[1])))
    x0, y0, x1, y1 = part.bounds
    return RegionMap(tuple(regions), region_map.matches, x1 - x0, y1 - y0, region_map.findings)


def moved_region(region: Region, number: int, by_mm: tuple[float, float]) -> Region:
    """Return an area moved by (x, y) [mm] under another number; its letter goes along."""
    shift = np.array(by_mm)
    letter = region.letter
    if letter is not None:
        x, y = np.array(letter.origin_mm) + shift
        letter = replace(letter, origin_mm=(float(x), float(y)))
    polygon = shapely.transform(region.polygon, lambda xy: xy + shift)
    return replace(region, id=number, polygon=polygon, letter=letter, lines=(), beneath=None)


def _marks(
    earlier: Sequence[_Part], hoopings: Sequence[Hooping], part: _Part, room: Floats
) -> tuple[int, tuple[float, float], Floats]:
    """Return the earlier hooping that a part is laid on, the hoop's centre, and two marks.

    It is the one whose field shares most with the part's; the hoop is moved towards it as far as
    the part leaves room. None when no two fields meet: then the paper's crosses lay the hoop.
    """
    middle, slack = _place(part, room)
    best, centre, most = 0, middle, shapely.Polygon()
    for one in hoopings:
        there = np.array(one.centre_mm)
        moved = middle + np.clip(there - middle, -slack, slack)
        shared = shapely.intersection(_field(there, room), _field(moved, room))
        if isinstance(shared, shapely.Polygon) and shared.area > most.area:
            best, centre, most = one.number, moved, shared
    at = (float(centre[0]), float(centre[1]))
    if most.is_empty:
        return 0, at, np.empty((0, 2))
    x0, y0, x1, y1 = most.bounds
    spots = np.array(
        [(x, y) for x in np.linspace(x0, x1, MARK_GRID) for y in np.linspace(y0, y1, MARK_GRID)]
    )
    work = shapely.union_all([r.polygon for p in (*earlier, part) for r in p.regions])
    away = shapely.distance(shapely.points(spots), work)
    clear = spots[away >= CLEAR_OF_WORK_MM]
    if len(clear) < 2:
        clear = spots[np.argsort(-away, kind="stable")[: max(2, len(spots) // 4)]]
    gaps = np.hypot(*(clear[:, None] - clear[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(np.argmax(gaps)), gaps.shape)
    return best, at, clear[[i, j]]


def _place(part: _Part, room: Floats) -> tuple[Floats, Floats]:
    """Return a part's middle, and how far a hoop may stand off it each way."""
    x0, y0, x1, y1 = part.bounds
    slack = np.maximum(room - [x1 - x0, y1 - y0], 0.0) / 2
    return np.array([(x0 + x1) / 2, (y0 + y1) / 2]), slack


def _field(centre: Floats, room: Floats) -> shapely.Polygon:
    """Return what a hoop about a place can reach, marks included."""
    w, h = (room + 2 * EDGE_MM - 2 * MARK_INSET_MM) / 2
    x, y = centre
    field: shapely.Polygon = shapely.box(x - w, y - h, x + w, y + h)
    return field
