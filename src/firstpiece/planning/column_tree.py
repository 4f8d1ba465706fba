"""Many satin columns of one area without a lift: out along the axes, back with the cover.

Columns touch at their ends or in their middles and so form a graph. From the column at the entry
the needle runs out along the axes, which is the centre run under each, goes into every branch it
passes, and covers each column on its way back; nothing is ever laid on finished satin. Input:
columns. Output: one ``Path`` a connected group.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.polyline import arc_lengths, offset_sideways, points_at, run_along
from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path, join_paths, make_path

if TYPE_CHECKING:
    from collections.abc import Generator, Sequence

    from numpy.typing import NDArray

    from firstpiece.planning.satin import SatinColumn

    Floats = NDArray[np.float64]
    Contact = tuple[float, int, float]  # place on the own axis, other column, place on its axis
    Visit = Generator[tuple[int, float], None, None]

STEP_MM = 2.2
# Ends this far beyond the rim of another column still meet it.
REACH_MM = 0.9
# A column entered nearer its end than this is entered at the end.
END_MM = 1.0
# Common practice, no source: edge runs from about 2.5 mm of width, 0.6 to 0.7 mm inside.
EDGE_FROM_MM = 2.5
EDGE_INSET_MM = 0.7


def sew_column_tree(
    columns: Sequence[SatinColumn], polygon: shapely.Polygon, entry_mm: Floats
) -> list[Path]:
    """Return the paths that sew columns by their tree, from the end nearest the entry.

    Parameters
    ----------
    columns : sequence of SatinColumn
    polygon : shapely.Polygon
        Edge runs stay inside it.
    entry_mm : (2,) float64 [mm]
    """
    tree = _Tree(tuple(columns), polygon)
    paths = []
    here = entry_mm
    while len(tree.seen) < len(columns):
        paths.append(tree.walk(here))
        here = paths[-1].end
    return paths


@dataclass(slots=True)
class _Tree:
    """The columns with where they touch, and the path built so far."""

    columns: tuple[SatinColumn, ...]
    polygon: shapely.Polygon
    lengths: list[Floats] = field(init=False)
    contacts: list[list[Contact]] = field(init=False)
    seen: set[int] = field(default_factory=set)
    parts: list[Path] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.lengths = [arc_lengths(c.axis_mm) for c in self.columns]
        self.contacts = _find_contacts(self.columns, self.lengths)

    def walk(self, entry_mm: Floats) -> Path:
        """Sew everything that hangs together with the unsewn column nearest the entry."""
        left = [k for k in range(len(self.columns)) if k not in self.seen]
        ends = np.array([[self.columns[k].axis_mm[0], self.columns[k].axis_mm[-1]] for k in left])
        gaps = np.hypot(*np.moveaxis(ends - entry_mm, -1, 0))
        n, end = divmod(int(np.argmin(gaps)), 2)
        self.parts = []
        todo = [self._visit(left[n], float(self.lengths[left[n]][-1]) * end)]
        # Each visit yields the branches it comes to; a stack of them needs no recursion.
        while todo:
            branch = next(todo[-1], None)
            if branch is None:
                todo.pop()
            else:
                todo.append(self._visit(*branch))
        return join_paths(self.parts)

    def _visit(self, k: int, at: float) -> Visit:
        self.seen.add(k)
        length = float(self.lengths[k][-1])
        if self.columns[k].is_closed:
            self._turn_ring(k, at)
            at = 0.0
        if at <= END_MM:
            yield from self._leg(k, 0.0, length)
        elif at >= length - END_MM:
            yield from self._leg(k, length, 0.0)
        else:
            yield from self._leg(k, at, 0.0)
            yield from self._leg(k, at, length)

    def _turn_ring(self, k: int, at: float) -> None:
        """Make a closed column begin at a place on its axis; contacts move along."""
        column, lengths = self.columns[k], self.lengths[k]
        length = float(lengths[-1])
        cut = int(np.argmin(np.abs(lengths - at)))
        axis = np.vstack([column.axis_mm[cut:], column.axis_mm[1 : cut + 1]])
        widths = np.concatenate([column.widths_mm[cut:], column.widths_mm[1 : cut + 1]])
        gaps = np.hypot(*(_middles(column.points_mm) - column.axis_mm[cut]).T)
        first = int(np.argmin(gaps))
        points = np.vstack([column.points_mm[first:], column.points_mm[: first + 3]])
        turned = replace(column, points_mm=points, axis_mm=axis, widths_mm=widths)
        self.columns = (*self.columns[:k], turned, *self.columns[k + 1 :])
        self.lengths[k] = arc_lengths(axis)
        shift = float(lengths[cut])
        self.contacts[k] = [((s - shift) % length, j, t) for s, j, t in self.contacts[k]]

    def _leg(self, k: int, start: float, end: float) -> Visit:
        """Run out along the axis with its branches, then cover back to the start."""
        column = self.columns[k]
        low, high = min(start, end), max(start, end)
        met = sorted(
            (c for c in self.contacts[k] if low - 1e-6 <= c[0] <= high + 1e-6),
            key=lambda c: (abs(c[0] - start), c[1]),
        )
        here = start
        for place, other, place_there in met:
            if other in self.seen:
                continue
            self._run_axis(k, here, place)
            here = place
            yield other, place_there
        self._run_axis(k, here, end)
        self._run_edges(k, end, start)
        cover = _cover_between(column, self.lengths[k], low, high)
        if not column.is_closed and end > start:
            cover = cover[::-1]
        if len(cover):
            self.parts.append(make_path(cover, Role.COVER))

    def _run_axis(self, k: int, start: float, end: float) -> None:
        axis = _axis_between(self.columns[k].axis_mm, self.lengths[k], start, end)
        self.parts.append(make_path(run_along(axis, STEP_MM, sag_mm=0.15), Role.UNDERLAY))

    def _run_edges(self, k: int, start: float, end: float) -> None:
        """Run along one edge to the column's other end and back along the other edge."""
        column = self.columns[k]
        width = float(np.median(column.widths_mm))
        if width < EDGE_FROM_MM or column.is_closed or abs(end - start) < 2 * width:
            return
        axis = _axis_between(column.axis_mm, self.lengths[k], start, end)
        axis = points_at(axis, np.arange(0.5, float(arc_lengths(axis)[-1]) - 0.5, 1.0))
        if len(axis) < 3:
            return
        side = np.full(len(axis), max(0.2, width / 2 - EDGE_INSET_MM))
        there, back = offset_sideways(axis, side), offset_sideways(axis[::-1], side)
        loop = np.vstack([run_along(there, STEP_MM), run_along(back, STEP_MM)])
        if self.polygon.covers(shapely.LineString(loop)):
            self.parts.append(make_path(loop, Role.UNDERLAY))


def _find_contacts(columns: tuple[SatinColumn, ...], lengths: list[Floats]) -> list[list[Contact]]:
    """Return, for each column, where ends of others meet it and where its own ends meet others."""
    contacts: list[list[Contact]] = [[] for _ in columns]
    lines = [shapely.LineString(c.axis_mm) for c in columns]
    for i, column in enumerate(columns):
        ends = [shapely.Point(column.axis_mm[0]), shapely.Point(column.axis_mm[-1])]
        for j, line in enumerate(lines):
            if j == i:
                continue
            for end, place in zip(ends, (0.0, float(lengths[i][-1])), strict=True):
                there = float(shapely.line_locate_point(line, end))
                half = float(np.interp(there, lengths[j], columns[j].widths_mm)) / 2
                if float(shapely.distance(line, end)) <= half + REACH_MM:
                    contacts[i].append((place, j, there))
                    contacts[j].append((there, i, place))
    return contacts


def _middles(points: Floats) -> Floats:
    return np.asarray((points[:-1] + points[1:]) / 2)


def _axis_between(axis: Floats, lengths: Floats, start: float, end: float) -> Floats:
    """Return the stretch of an axis from one place to another, either way."""
    low, high = min(start, end), max(start, end)
    inner = lengths[(lengths > low + 1e-6) & (lengths < high - 1e-6)]
    stretch = points_at(axis, np.concatenate([[low], inner, [high]]))
    return stretch if start <= end else stretch[::-1]


def _cover_between(column: SatinColumn, lengths: Floats, low: float, high: float) -> Floats:
    """Return the column's penetrations that belong to a stretch of its axis, with one more."""
    n = len(column.points_mm)
    if low <= 0.0 and high >= lengths[-1] - 1e-6:
        return column.points_mm
    line = shapely.LineString(column.axis_mm)
    # Middles of stitches lie near the axis, penetrations do not.
    place = shapely.line_locate_point(line, shapely.points(_middles(column.points_mm)))
    place = np.maximum.accumulate(place)
    first = int(np.searchsorted(place, low)) if low > 0.0 else 0
    last = int(np.searchsorted(place, high)) if high < lengths[-1] - 1e-6 else n - 1
    return column.points_mm[first : last + 1]
