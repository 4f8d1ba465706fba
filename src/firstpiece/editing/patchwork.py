"""The design cut along new lines and put together again: all edits' geometry goes through here.

All outlines and new lines are cut into one set of faces on a fine grid; an edit only says which
area each face belongs to. Areas are then the unions of their faces, so there is no gap and no
overlap, whatever the edit did.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.partition import cut_plane, shared_lengths
from firstpiece.model.region import BARE, CentreLine, Region

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.region import RegionMap

GRID_MM = 1e-4
"""A thousandth of what a machine resolves; every edited outline has its points on it."""

NOTHING = -1
"""Owner of faces that belong to no area: cloth round the design."""

SAME_LINE = 0.1
"""Share of a stroke's area that may change before its centre line no longer describes it."""

SLIVER_MM = 0.03
"""Pieces an edit leaves that are narrower than this go to a neighbour: no thread is so thin."""


@dataclass(frozen=True, slots=True, eq=False)
class Patchwork:
    """Faces and the area each belongs to.

    Parameters
    ----------
    faces : (n,) object, each a shapely.Polygon [mm]
    owner : (n,) int64
        Area numbers, or ``NOTHING``.
    inside : (n, 2) float64 [mm]
        A point in each face.
    """

    faces: NDArray[np.object_]
    owner: NDArray[np.int64]
    inside: NDArray[np.float64]

    def within(self, shape: shapely.Geometry) -> NDArray[np.bool_]:
        """Return which faces lie in a shape whose outline they were cut along.

        Returns
        -------
        (n,) bool
        """
        shapely.prepare(shape)
        found: NDArray[np.bool_] = shapely.intersects_xy(
            shape, self.inside[:, 0], self.inside[:, 1]
        )
        return found


def cut_areas(regions: Sequence[Region], lines: Sequence[shapely.Geometry]) -> Patchwork:
    """Return the faces that areas and new lines make together, each with its old area.

    Parameters
    ----------
    regions : sequence of Region
    lines : sequence of shapely geometries
        New cuts; ends that lead nowhere are let pass.
    """
    outlines = [region.polygon.boundary for region in regions]
    faces = cut_plane([*outlines, *lines], grid=GRID_MM)
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    owner = np.full(len(faces), NOTHING, dtype=np.int64)
    tree = shapely.STRtree([region.polygon for region in regions])
    face, area = tree.query(shapely.points(inside), predicate="intersects")
    numbers = np.array([region.id for region in regions], dtype=np.int64)
    owner[face] = numbers[area]
    return Patchwork(faces, owner, inside)


def give_away(
    patchwork: Patchwork, lost: NDArray[np.bool_], givers: frozenset[int]
) -> NDArray[np.int64]:
    """Return the owners after faces went to the neighbours they share most edge with.

    Parameters
    ----------
    patchwork : Patchwork
    lost : (n,) bool
        Faces to be given away; together with cloth round the design as a possible taker.
    givers : frozenset of int
        The areas they belonged to, which take none.

    Returns
    -------
    (n,) int64
    """
    owner = patchwork.owner.copy()
    pairs, lengths, open_lengths = shared_lengths(patchwork.faces)
    left = lost.copy()
    while left.any():
        takers = _takers(owner, left, givers, (pairs, lengths, open_lengths))
        if not takers:
            owner[left] = NOTHING
            break
        for face, taker in takers.items():
            owner[face] = taker
            left[face] = False
    return owner


def _takers(
    owner: NDArray[np.int64],
    left: NDArray[np.bool_],
    givers: frozenset[int],
    shared: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]],
) -> dict[int, int]:
    """Return for every face left that has a settled neighbour the one with the longest edge."""
    pairs, lengths, open_lengths = shared
    lengths_by: dict[int, dict[int, float]] = {}
    both = np.vstack([pairs, pairs[:, ::-1]])
    for (face, other), length in zip(both.tolist(), np.tile(lengths, 2).tolist(), strict=True):
        if left[face] and not left[other] and owner[other] not in givers:
            found = lengths_by.setdefault(face, {})
            taker = int(owner[other])
            found[taker] = found.get(taker, 0.0) + length
    for face in np.flatnonzero(left & (open_lengths > 0)).tolist():
        found = lengths_by.setdefault(face, {})
        found[NOTHING] = found.get(NOTHING, 0.0) + float(open_lengths[face])
    # Among equals the lowest number takes it, so that nothing hangs on an order.
    return {face: max(sorted(by), key=by.__getitem__) for face, by in lengths_by.items()}


def assemble(
    region_map: RegionMap,
    patchwork: Patchwork,
    owner: NDArray[np.int64],
    *,
    next_id: int,
    added: dict[int, Region] | None = None,
) -> RegionMap:
    """Return the design whose areas are the unions of the faces they own.

    Parameters
    ----------
    region_map : RegionMap
        Tells each area's colour.
    patchwork : Patchwork
    owner : (n,) int64
        Area numbers after the edit, or ``NOTHING``.
    next_id : int
        Number of the next new area. Of an area in several pieces the largest keeps the number.
    added : dict of int to Region or None
        New areas by number; only their colours and letters count.

    Returns
    -------
    RegionMap
        Centred on its painted box.
    """
    owner = _without_slivers(patchwork, _without_hairs(patchwork, owner))
    known = {**{region.id: region for region in region_map.regions}, **(added or {})}
    first: list[Region] = []
    further: list[tuple[shapely.Polygon, int]] = []
    for number in sorted({int(n) for n in owner.tolist()} - {NOTHING}):
        largest, *rest = _parts(patchwork.faces[owner == number])
        first.append(_kept(known[number], largest))
        further += [(part, known[number].color_index) for part in rest]
    whole = [*(region.polygon for region in first), *(part for part, _color in further)]
    further += [(part, BARE) for part in _pockets(whole, patchwork.faces[owner == NOTHING])]
    made = [*first, *_numbered(region_map, further, {r.id for r in first}, next_id)]
    order = {region.id: i for i, region in enumerate(region_map.regions)}
    made.sort(key=lambda region: (order.get(region.id, len(order)), region.id))
    return centred(replace(region_map, regions=tuple(made)))


def _numbered(
    region_map: RegionMap,
    pieces: list[tuple[shapely.Polygon, int]],
    used: set[int],
    next_id: int,
) -> list[Region]:
    """Return further pieces as areas.

    One that lies where an area of its colour went takes its number, so that the inside of a letter
    keeps it when the letter is moved.
    """
    gone = [r for r in region_map.regions if r.id not in used]
    found = []
    for part, color in pieces:
        alike = [r for r in gone if r.color_index == color]
        shared = [shapely.intersection(r.polygon, part).area for r in alike]
        if shared and max(shared) > 0.5 * part.area:
            old = alike[shared.index(max(shared))]
            gone.remove(old)
            found.append(Region(old.id, part, color))
        else:
            found.append(Region(next_id, part, color))
            next_id += 1
    return found


def centred(region_map: RegionMap) -> RegionMap:
    """Return the design with its painted box centred and measured; points stay on the grid."""
    sewn = [region.polygon for region in region_map.sewn_regions]
    if not sewn:
        return region_map
    x0, y0, x1, y1 = shapely.total_bounds(sewn)
    shift = np.round(np.array([x0 + x1, y0 + y1]) / 2.0 / GRID_MM) * GRID_MM
    regions = region_map.regions
    if shift.any():
        regions = tuple(_moved(region, -shift) for region in regions)
    return replace(region_map, regions=regions, width_mm=float(x1 - x0), height_mm=float(y1 - y0))


def _moved(region: Region, by: NDArray[np.float64]) -> Region:
    letter = region.letter
    if letter is not None:
        x, y = letter.origin_mm
        letter = replace(letter, origin_mm=(x + float(by[0]), y + float(by[1])))
    polygon = shapely.transform(region.polygon, lambda xy: on_grid(xy + by))
    lines = tuple(CentreLine(line.xy_mm + by, line.width_mm) for line in region.lines)
    beneath = region.beneath
    if beneath is not None:
        beneath = shapely.transform(beneath, lambda xy: on_grid(xy + by))
    return replace(region, polygon=polygon, letter=letter, lines=lines, beneath=beneath)


def on_grid(xy_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points moved to the grid (n, 2) float64 [mm]; equal points stay equal."""
    rounded: NDArray[np.float64] = np.round(xy_mm / GRID_MM) * GRID_MM + 0.0
    return rounded


def _parts(faces: NDArray[np.object_]) -> list[shapely.Polygon]:
    joined = shapely.coverage_union_all(faces)
    parts = [p for p in shapely.get_parts(joined) if p.area > 0]
    return sorted(parts, key=lambda p: (-p.area, p.bounds))


def _kept(region: Region, polygon: shapely.Polygon) -> Region:
    """Return an area with its new outline; a letter or line that was cut is one no more."""
    letter, lines = region.letter, region.lines
    if letter is not None or lines:
        change = shapely.symmetric_difference(region.polygon, polygon).area
        letter = letter if change <= 3.0 * GRID_MM * polygon.length else None
        lines = lines if change <= SAME_LINE * region.polygon.area else ()
    return replace(region, polygon=polygon, letter=letter, lines=lines)


def _without_hairs(patchwork: Patchwork, owner: NDArray[np.int64]) -> NDArray[np.int64]:
    """Give faces as thin as the grid, where two outlines nearly fall together, to a neighbour."""
    hairs = 2.0 * shapely.area(patchwork.faces) < 3.0 * GRID_MM * shapely.length(patchwork.faces)
    if not hairs.any():
        return owner
    rest = Patchwork(patchwork.faces, owner, patchwork.inside)
    return give_away(rest, hairs, frozenset())


def _without_slivers(patchwork: Patchwork, owner: NDArray[np.int64]) -> NDArray[np.int64]:
    """Give pieces too thin to sew that the edit left to the neighbours.

    Only pieces of areas that lost faces are looked at: hairlines of the art itself are not the
    edit's to take.
    """
    for number in sorted({int(n) for n in patchwork.owner[owner != patchwork.owner]}):
        mine = owner == number
        if number == NOTHING or not mine.any():
            continue
        for part in _parts(patchwork.faces[mine]):
            if 2.0 * part.area / part.length < SLIVER_MM:
                thin = mine & patchwork.within(part)
                rest = Patchwork(patchwork.faces, owner, patchwork.inside)
                owner = give_away(rest, thin, frozenset({number}))
    return owner


def _pockets(areas: list[shapely.Polygon], empty: NDArray[np.object_]) -> list[shapely.Polygon]:
    """Return faces of no area that are shut in: they are bare cloth inside the design now."""
    if not len(empty):
        return []
    parts = _parts(empty)
    faces = np.empty(len(areas) + len(parts), dtype=object)
    faces[:] = [*areas, *parts]
    _pairs, _lengths, open_lengths = shared_lengths(faces)
    shut = open_lengths[len(areas) :] == 0.0
    return [part for part, is_shut in zip(parts, shut.tolist(), strict=True) if is_shut]
