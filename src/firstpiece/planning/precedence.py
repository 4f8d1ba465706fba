"""What has to be sewn before what: outlines and details come after what they lie on.

Input: the areas and which touch. Output: for each area what goes before it, firmly, or only by
wish: between two filled areas either may reach under the other, so a thread change decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

TOUCH_MM = 0.05
CLEARLY_WIDER = 1.25
# Two filled areas at least this wide on average keep a clean edge whichever is sewn last
# (measured on our sample: no figure of cover or colour changes).
EITHER_WAY_MM = 3.0
# A circle wider than satin fits in: such an area is filled (common practice, no source: 7 mm).
SATIN_WIDEST_MM = 7.0


@dataclass(frozen=True, slots=True)
class Place:
    """What sequencing needs to know of one area.

    Parameters
    ----------
    polygon : shapely.Polygon
    thread : int
    wanted : int or None
        Position in the order that a person asked for.
    is_filled : bool
        True when it is sewn with rows.
    letter : tuple of (int, int) or None
        Which text it belongs to and which letter of it: letters are sewn as they are read.
    """

    polygon: shapely.Polygon
    thread: int
    wanted: int | None = None
    is_filled: bool = False
    letter: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Precedence:
    """Which areas go before each area, by position.

    Parameters
    ----------
    firm : list of set of int
        Must be sewn before; free of rings.
    wished : tuple of (int, int)
        (under, over) pairs that are kept when they cost no thread change; dearest first.
    """

    firm: list[set[int]]
    wished: tuple[tuple[int, int], ...] = ()


def touching_pairs(polygons: Sequence[shapely.Polygon]) -> list[tuple[int, int]]:
    """Return the pairs (i, j), i < j, of areas closer than ``TOUCH_MM``, sorted."""
    if len(polygons) < 2:
        return []
    tree = shapely.STRtree(polygons)
    left, right = tree.query(polygons, predicate="dwithin", distance=TOUCH_MM)
    return sorted((int(i), int(j)) for i, j in zip(left, right, strict=True) if i < j)


def lies_under(places: Sequence[Place], pairs: list[tuple[int, int]]) -> list[set[int]]:
    """Return, for each area, the touching areas that should be sewn before it.

    The clearly narrower of two goes on top, so outlines and lettering come after what they lie on;
    of two about equally wide, the one that surrounds the other goes first.
    """
    before: list[set[int]] = [set() for _ in places]
    outer = [shapely.Polygon(p.polygon.exterior) for p in places]
    width = [mean_width(p.polygon) for p in places]
    for i, j in pairs:
        a, b = places[i].polygon, places[j].polygon
        if max(width[i], width[j]) > CLEARLY_WIDER * min(width[i], width[j]):
            low, high = (i, j) if width[i] > width[j] else (j, i)
            before[high].add(low)
        elif a.interiors and outer[i].covers(b):
            before[j].add(i)
        elif b.interiors and outer[j].covers(a):
            before[i].add(j)
    return before


def weigh_precedence(
    places: Sequence[Place],
    before: list[set[int]],
    *,
    always: Collection[tuple[int, int]] = (),
) -> Precedence:
    """Return what is firm and what is only wished for, without rings of waiting.

    Parameters
    ----------
    places : sequence of Place
    before : list of set of int
        As made by ``lies_under``.
    always : collection of (int, int)
        Pairs (over, under) that are firm whatever the areas are like.
    """
    width = [mean_width(p.polygon) for p in places]
    firm: list[set[int]] = [set() for _ in places]
    wished = []
    for over in range(len(places)):
        for under in sorted(before[over]):
            if (over, under) not in always and _is_either_way(places, width, under, over):
                wished.append((-width[under] / width[over], under, over))
            else:
                firm[over].add(under)
    wished.sort()
    return Precedence(_without_rings(firm, width), tuple((u, o) for _, u, o in wished))


def _is_either_way(places: Sequence[Place], width: list[float], under: int, over: int) -> bool:
    both_filled = places[under].is_filled and places[over].is_filled
    wide = min(width[under], width[over]) >= EITHER_WAY_MM
    return both_filled and wide and places[under].thread != places[over].thread


def _without_rings(before: list[set[int]], width: list[float]) -> list[set[int]]:
    """Return ``before`` where of areas that all wait for each other the widest goes first."""
    waits = [set(b) for b in before]
    kept: list[set[int]] = [set() for _ in before]
    left = set(range(len(before)))
    while left:
        free = sorted(k for k in left if not waits[k] & left)
        if not free:
            free = [max(left, key=lambda k: (width[k], -k))]
        for k in free:
            kept[k] = waits[k] - left
        left -= set(free)
    return kept


def mean_width(polygon: shapely.Polygon) -> float:
    """Return twice the area over the length of all rims [mm]: the width of a long band."""
    return float(2 * polygon.area / polygon.length)


def is_wide(polygon: shapely.Polygon) -> bool:
    """Return whether a circle too wide for satin fits in an area, so that it is filled."""
    return not polygon.buffer(-SATIN_WIDEST_MM / 2, quad_segs=2).is_empty
