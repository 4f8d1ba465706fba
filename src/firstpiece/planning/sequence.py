"""The sewing order: what lies under comes first, with few thread changes, few cuts, short ways.

Input: the areas, what goes before what, from where to sew. Output: positions in sewing order with
the proof of the number of thread changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.kernels.part_route import improve_route, nearest_part_next
from firstpiece.model.stitch import SewFrom
from firstpiece.planning.color_blocks import ColorBlocks, fewest_blocks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.material import Setup
    from firstpiece.planning.precedence import Place, Precedence

    Floats = NDArray[np.float64]

# Above this many areas of one thread the matrix of distances grows too large.
WALK_LIMIT = 1000
STRIP_MM = 8.0
# Areas as near as this to the start, or as high, count as equally early.
BAND_MM = 25.0
# What a cut counts for against a millimetre of way: its seconds at sewing pace, rounded down.
CUT_MM = 40.0
# Gaps up to this may be jumped without a cut on most machine cards.
UNCUT_MM = 2.0
# Between more areas than this only their middles are measured.
EXACT_GAPS = 60
NEIGHBOURS = 10
KICKS_PER_AREA = 30


@dataclass(frozen=True, slots=True)
class SewingOrder:
    """Positions of all areas in sewing order, and the fewest thread changes any order can have."""

    positions: list[int]
    fewest_changes: int


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Where the next block is sewn: the areas, and what will be sewn over them later."""

    places: Sequence[Place]
    sew_from: SewFrom
    middle: Floats
    low: float


def sewing_order(
    places: Sequence[Place], precedence: Precedence, *, sew_from: SewFrom = SewFrom.NEAREST
) -> SewingOrder:
    """Return the sewing order of all areas.

    Parameters
    ----------
    places : sequence of Place
    precedence : Precedence
    sew_from : SewFrom
        Where cloth or cap should be sewn first, inside each thread.
    """
    if not places:
        return SewingOrder([], 0)
    found = fewest_blocks(
        [p.thread for p in places],
        precedence.firm,
        [p.polygon.area for p in places],
        wished=precedence.wished,
    )
    order = _walk_blocks(places, found, precedence, sew_from)
    wanted = sorted((p.wanted, k) for k, p in enumerate(places) if p.wanted is not None)
    for _, k in wanted:
        order.remove(k)
    for position, k in wanted:
        order.insert(max(0, position), k)
    return SewingOrder(order, found.fewest - 1)


def usual_start(setup: Setup) -> SewFrom:
    """Return where a garment is usually begun: a cap at its rim (common practice, no source)."""
    return SewFrom.BOTTOM if setup.garment.kind == "cap" else SewFrom.NEAREST


def _walk_blocks(
    places: Sequence[Place], found: ColorBlocks, precedence: Precedence, sew_from: SewFrom
) -> list[int]:
    x0, y0, x1, y1 = shapely.total_bounds([p.polygon for p in places])
    ground = _Ground(places, sew_from, np.array([(x0 + x1) / 2, (y0 + y1) / 2]), float(y0))
    order: list[int] = []
    here: shapely.Geometry | None = None
    for n, block in enumerate(found.blocks):
        later = [k for b in found.blocks[n + 1 :] for k in b]
        for group in _groups(ground, block, precedence):
            if here is None:
                here = _first_place(ground, [places[k].polygon for k in group])
            over = [places[k].polygon for k in later]
            order += _ways(places, group, here, over)
            here = places[order[-1]].polygon
    return order


def _ways(
    places: Sequence[Place],
    group: list[int],
    here: shapely.Geometry,
    over: list[shapely.Polygon],
) -> list[int]:
    """Return a group by short ways; texts come last, letter by letter as they are read."""
    plain = [k for k in group if places[k].letter is None]
    texts = sorted((letter, k) for k in group if (letter := places[k].letter) is not None)
    walk = _short_order(here, [places[k].polygon for k in plain], over) if plain else []
    return [plain[q] for q in walk] + [k for _, k in texts]


def _groups(ground: _Ground, block: Sequence[int], precedence: Precedence) -> list[list[int]]:
    """Return a block in groups that are sewn one after the other: by depth, then by band."""
    members = set(block)
    depth: dict[int, int] = {}
    for k in block:
        firsts = precedence.firm[k] & members
        depth[k] = 1 + max((depth[u] for u in firsts if u in depth), default=-1)
    keyed: dict[tuple[int, int], list[int]] = {}
    for k in block:
        keyed.setdefault((depth[k], _band(ground, k)), []).append(k)
    return [keyed[key] for key in sorted(keyed)]


def _band(ground: _Ground, k: int) -> int:
    """Return how late an area comes by the wish of cloth or cap, 0 first."""
    if ground.sew_from is SewFrom.NEAREST:
        return 0
    centre = shapely.get_coordinates(shapely.centroid(ground.places[k].polygon))[0]
    if ground.sew_from is SewFrom.CENTRE:
        return int(np.hypot(*(centre - ground.middle)) / BAND_MM)
    return int((centre[1] - ground.low) / BAND_MM)


def _first_place(ground: _Ground, polygons: list[shapely.Polygon]) -> shapely.Geometry:
    """Return where the very first area is looked for."""
    if ground.sew_from is SewFrom.CENTRE:
        return shapely.Point(ground.middle)
    if ground.sew_from is SewFrom.BOTTOM:
        return shapely.Point(ground.middle[0], ground.low)
    return min(polygons, key=lambda p: p.bounds[0])


def _short_order(
    here: shapely.Geometry, polygons: list[shapely.Polygon], over: list[shapely.Polygon]
) -> list[int]:
    """Return a short order over areas; very many are taken strip by strip, to and fro."""
    if len(polygons) == 1:
        return [0]
    if len(polygons) <= WALK_LIMIT:
        return _route(_costs([here, *polygons], over))
    xy = shapely.get_coordinates(shapely.centroid(polygons))
    strip = np.floor((xy[:, 1] - xy[:, 1].min()) / STRIP_MM)
    along = np.where(strip % 2 == 0, xy[:, 0], -xy[:, 0])
    return [int(q) for q in np.lexsort((along, strip))]


def _route(costs: Floats) -> list[int]:
    """Return the areas 1 … n, as 0 … n − 1, along a short open way that starts at 0."""
    n = len(costs)
    ends = np.repeat(np.repeat(costs, 2, axis=0), 2, axis=1)
    # The start is left by its second end; coming back to its first costs nothing.
    ends[0, :] = ends[:, 0] = 0.0
    blocked = ends.copy()
    twin = np.arange(2 * n)
    blocked[twin, twin] = blocked[twin, twin ^ 1] = np.inf
    near = np.argsort(blocked, axis=1, kind="stable")[:, : min(NEIGHBOURS, 2 * n - 2)]
    first = nearest_part_next(ends)
    tour = improve_route(ends, np.ascontiguousarray(near), first, KICKS_PER_AREA * n)
    parts = tour[::2] // 2
    at = int(np.flatnonzero(parts == 0)[0])
    parts = np.roll(parts, -at)
    if tour[2 * at] == 1:
        parts = np.concatenate([parts[:1], parts[:0:-1]])
    return [int(q) - 1 for q in parts[1:]]


def _costs(polygons: list[shapely.Geometry], over: list[shapely.Polygon]) -> Floats:
    """Return what going from one area to another costs [mm], cuts counted.

    A way that later areas cover costs its length only: the thread need not be cut.
    """
    if len(polygons) > EXACT_GAPS:
        xy = shapely.get_coordinates(shapely.centroid(polygons))
        gaps = np.hypot(*(xy[:, None, :] - xy[None, :, :]).transpose(2, 0, 1))
        return np.asarray(np.where(gaps > UNCUT_MM, gaps + CUT_MM, gaps))
    column = np.array(polygons, dtype=object)
    gaps = np.asarray(shapely.distance(column[:, None], column[None, :]))
    i, j = np.nonzero(np.triu(gaps > UNCUT_MM, 1))
    if not len(i):
        return gaps
    gaps[i, j] += np.where(_is_covered(column, over)[i, j], 0.0, CUT_MM)
    gaps[j, i] = gaps[i, j]
    return gaps


def _is_covered(areas: NDArray[np.object_], over: list[shapely.Polygon]) -> NDArray[np.bool_]:
    """Return (n, n) bool: some connected part of what is sewn over later touches both areas."""
    if not over:
        return np.zeros((len(areas), len(areas)), dtype=bool)
    parts = shapely.get_parts(shapely.union_all(over))
    touches = shapely.dwithin(areas[:, None], parts[None, :], 0.1).astype(np.int64)
    return touches @ touches.T > 0
