"""The narrowest part of a shape that shows: its width and where it is.

Input: an area in mm and the width below which a part matters. Output: a ``NarrowPart`` or nothing.
The width is read along the medial axis; a point that tapers to nothing is no part of its own, every
sharp corner has one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.medial_axis import medial_axis

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from firstpiece.geometry.medial_axis import AxisBranch

# A stretch shorter than this many limits does not show.
SHORTEST_STRETCH = 2.0
# A straight taper from the limit to nothing has three quarters of its length under this share.
TAPER_SHARE = 0.7
# Outline samples in one limit: fewer misread a line half as wide.
SAMPLES_PER_LIMIT = 8


@dataclass(frozen=True, slots=True)
class NarrowPart:
    """Width [mm] of the narrowest part of a shape and a point (x, y) [mm] inside it."""

    width_mm: float
    where_mm: tuple[float, float]


def find_narrow_part(polygon: shapely.Polygon, *, limit_mm: float) -> NarrowPart | None:
    """Return the narrowest part of a shape that is narrower than the limit, or None.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty, in mm.
    limit_mm : float [mm]
        Parts at least this wide do not matter.
    """
    opened = polygon.buffer(-limit_mm / 2).buffer(limit_mm / 2)
    if polygon.area - opened.area < limit_mm**2:
        return None
    if opened.is_empty:
        return _whole(polygon, limit_mm)
    return _narrowest(
        found
        for part in _thin_parts(polygon, opened, limit_mm)
        for found in _stretches(part, limit_mm)
    )


def _whole(polygon: shapely.Polygon, limit_mm: float) -> NarrowPart:
    """Return the median width of a shape that is thinner than the limit everywhere."""
    axis = medial_axis(polygon)
    width = 2.0 * polygon.area / polygon.length
    if len(axis.radii_mm):
        width = 2.0 * float(np.median(axis.radii_mm))
    point = polygon.representative_point()
    return NarrowPart(min(width, limit_mm * (1 - 1e-9)), (float(point.x), float(point.y)))


def _thin_parts(
    polygon: shapely.Polygon, opened: shapely.Geometry, limit_mm: float
) -> tuple[shapely.Polygon, ...]:
    """Return what opening took away, with enough around it to see where it ends.

    The axis of a whole area, sampled finely enough for a hairline, is slow; most areas are thin in
    few places.
    """
    lost = shapely.get_parts(polygon.difference(shapely.buffer(opened, limit_mm / 100)))
    shown = lost[shapely.area(lost) >= limit_mm**2 / 2]
    around = shapely.union_all(shapely.buffer(shown, limit_mm)).intersection(polygon)
    return tuple(p for p in shapely.get_parts(around) if isinstance(p, shapely.Polygon))


def _stretches(part: shapely.Polygon, limit_mm: float) -> Iterator[NarrowPart]:
    axis = medial_axis(part, spacing_mm=limit_mm / SAMPLES_PER_LIMIT)
    degree = np.bincount(axis.edges.ravel(), minlength=max(len(axis.nodes_mm), 1))
    for branch in axis.branches:
        yield from _narrow_stretches(branch, degree, limit_mm)


def _narrow_stretches(
    branch: AxisBranch, degree: NDArray[np.int64], limit_mm: float
) -> Iterator[NarrowPart]:
    """Give the stretches of one branch that are long and narrow enough to show."""
    widths = 2.0 * branch.radii_mm
    steps = np.hypot(*np.diff(branch.points_mm, axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    edges = np.diff(np.concatenate([[0], (widths < limit_mm).astype(np.int8), [0]]))
    for first, stop in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if at[stop - 1] - at[first] < SHORTEST_STRETCH * limit_mm:
            continue
        is_tip = (first == 0 and degree[branch.start_node] == 1) or (
            stop == len(widths) and degree[branch.end_node] == 1
        )
        share, ceiling = (0.75, TAPER_SHARE * limit_mm) if is_tip else (0.1, limit_mm)
        width = float(np.quantile(widths[first:stop], share))
        if width < ceiling:
            x, y = branch.points_mm[(first + stop) // 2]
            yield NarrowPart(width, (float(x), float(y)))


def _narrowest(parts: Iterable[NarrowPart]) -> NarrowPart | None:
    return min(parts, key=lambda part: (part.width_mm, part.where_mm), default=None)
