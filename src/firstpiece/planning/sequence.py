"""The sewing order: what lies under comes first, with few thread changes and short ways between.

Input: the areas, their stitch types and which touch. Output: a list of area positions. Colour
blocks are found by a beam over closure states (Ow & Morton 1988).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.kernels.visit_order import short_walk

if TYPE_CHECKING:
    from collections.abc import Sequence

BEAM_WIDTH = 40
# Above this many areas the beam's bit sets cost more than the changes it could save.
BEAM_LIMIT = 600
TOUCH_MM = 0.05
# Above this many areas of one thread the matrix of distances grows too large.
WALK_LIMIT = 1200
STRIP_MM = 8.0
CLEARLY_WIDER = 1.25

# Done areas as bits, score, blocks so far.
_State = tuple[int, float, tuple[tuple[int, ...], ...]]


@dataclass(frozen=True, slots=True)
class Place:
    """What sequencing needs to know of one area."""

    polygon: shapely.Polygon
    thread: int
    wanted: int | None = None


def touching_pairs(polygons: Sequence[shapely.Polygon]) -> list[tuple[int, int]]:
    """Return the pairs (i, j), i < j, of areas closer than ``TOUCH_MM``, sorted."""
    if len(polygons) < 2:
        return []
    tree = shapely.STRtree(polygons)
    left, right = tree.query(polygons, predicate="dwithin", distance=TOUCH_MM)
    return sorted((int(i), int(j)) for i, j in zip(left, right, strict=True) if i < j)


def lies_under(places: Sequence[Place], pairs: list[tuple[int, int]]) -> list[set[int]]:
    """Return, for each area, the touching areas that must be sewn before it.

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


def mean_width(polygon: shapely.Polygon) -> float:
    """Return twice the area over the length of all rims [mm]: the width of a long band."""
    return float(2 * polygon.area / polygon.length)


def sewing_order(places: Sequence[Place], before: list[set[int]]) -> list[int]:
    """Return the positions of all areas in sewing order.

    Parameters
    ----------
    places : sequence of Place
    before : list of set of int
        As made by ``lies_under``.
    """
    if not places:
        return []
    blocks = _color_blocks(places, before)
    order: list[int] = []
    here = None
    for block in blocks:
        walk = _walk_block(places, block, before, here)
        order += walk
        here = places[walk[-1]].polygon
    wanted = sorted((p.wanted, k) for k, p in enumerate(places) if p.wanted is not None)
    for _, k in wanted:
        order.remove(k)
    for position, k in wanted:
        order.insert(max(0, position), k)
    return order


def _color_blocks(places: Sequence[Place], before: list[set[int]]) -> list[list[int]]:
    """Return blocks of one thread each, as few as the beam finds."""
    n = len(places)
    need = [sum(1 << i for i in b) for b in before]
    threads = sorted({p.thread for p in places})
    of_thread = {t: [k for k in range(n) if places[k].thread == t] for t in threads}
    areas = [p.polygon.area for p in places]
    width = BEAM_WIDTH if n <= BEAM_LIMIT else 1
    full = (1 << n) - 1
    states: list[_State] = [(0, 0.0, ())]
    while True:
        following: dict[int, tuple[float, tuple[tuple[int, ...], ...]]] = {}
        for done, score, blocks in states:
            for t in threads:
                block = _closure(of_thread[t], done, need)
                if not block:
                    continue
                new = done | sum(1 << k for k in block)
                # Among equally short orders the one that sews large areas early wins.
                value = score + sum(areas[k] for k in block) * len(blocks)
                if new not in following or value < following[new][0]:
                    following[new] = (value, (*blocks, tuple(block)))
        if not following:
            following = _break_ring(places, states[0])
        if full in following:
            return [list(b) for b in following[full][1]]
        ranked = sorted(following.items(), key=lambda s: (-s[0].bit_count(), s[1][0], s[1][1]))
        states = [(done, value, blocks) for done, (value, blocks) in ranked[:width]]


def _break_ring(
    places: Sequence[Place], state: _State
) -> dict[int, tuple[float, tuple[tuple[int, ...], ...]]]:
    """Take the widest area left when every one waits for another (rings of "lies under")."""
    done, value, blocks = state
    left = [k for k in range(len(places)) if not done >> k & 1]
    widest = max(left, key=lambda k: (mean_width(places[k].polygon), -k))
    return {done | 1 << widest: (value, (*blocks, (widest,)))}


def _closure(candidates: list[int], done: int, need: list[int]) -> list[int]:
    """Return the areas of one thread that can be sewn now, later ones after earlier ones."""
    block: list[int] = []
    left = [k for k in candidates if not done >> k & 1]
    while True:
        free = [k for k in left if not need[k] & ~done]
        if not free:
            return block
        block += free
        done |= sum(1 << k for k in free)
        left = [k for k in left if not done >> k & 1]


def _walk_block(
    places: Sequence[Place], block: list[int], before: list[set[int]], here: shapely.Polygon | None
) -> list[int]:
    """Return a block's areas by short ways, keeping what lies under first."""
    members = set(block)
    ranks = {k: 1 if before[k] & members else 0 for k in block}
    order: list[int] = []
    for rank in (0, 1):
        group = [k for k in block if ranks[k] == rank]
        if not group:
            continue
        polygons = [places[k].polygon for k in group]
        if here is None:
            first = min(range(len(group)), key=lambda q: (polygons[q].bounds[0], q))
            here = polygons[first]
        order += [group[q] for q in _short_order(here, polygons)]
        here = places[order[-1]].polygon
    return order


def _short_order(here: shapely.Polygon, polygons: list[shapely.Polygon]) -> list[int]:
    """Return a short order over areas; very many are taken strip by strip, to and fro."""
    if len(polygons) <= WALK_LIMIT:
        walk = short_walk(_gaps([here, *polygons]), 30)
        return [int(q) - 1 for q in walk[1:]]
    xy = shapely.get_coordinates(shapely.centroid(polygons))
    strip = np.floor((xy[:, 1] - xy[:, 1].min()) / STRIP_MM)
    along = np.where(strip % 2 == 0, xy[:, 0], -xy[:, 0])
    return [int(q) for q in np.lexsort((along, strip))]


def _gaps(polygons: list[shapely.Polygon]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the distances between all areas [mm]; between their middles when there are many."""
    if len(polygons) <= 60:
        column = np.array(polygons, dtype=object)
        return np.asarray(shapely.distance(column[:, None], column[None, :]))
    xy = shapely.get_coordinates(shapely.centroid(polygons))
    return np.asarray(np.hypot(*(xy[:, None, :] - xy[None, :, :]).transpose(2, 0, 1)))
