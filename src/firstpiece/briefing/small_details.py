"""Details narrower than one thread lies, and the height of the design at which they can be sewn.

Input: the cleaned design and the set-up. Output: draft questions. The width is read along the
medial axis; a point that tapers to nothing is no detail of its own, every sharp corner has one.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.briefing.draft import Draft, place_words, point_inside, split_off_rest
from firstpiece.geometry.medial_axis import medial_axis
from firstpiece.model.question import Choice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.medial_axis import AxisBranch
    from firstpiece.model.material import Setup
    from firstpiece.model.region import Region, RegionMap

CODE = "too-small"
# A stretch shorter than this many thread widths does not show.
SHORTEST_STRETCH = 2.0
# A straight taper from the limit to nothing has three quarters of its length under this share.
TAPER_SHARE = 0.7
# Outline samples in one thread width: fewer misread a line half as wide as a thread.
SAMPLES_PER_LIMIT = 8


def small_detail_drafts(region_map: RegionMap, *, setup: Setup) -> tuple[Draft, ...]:
    """Return the questions about areas with parts narrower than the thread, narrowest first."""
    limit = setup.thread.laid_width_mm
    widths = {r.id: narrowest_width_mm(r.polygon, limit_mm=limit) for r in region_map.sewn_regions}
    areas = sorted(
        (r for r in region_map.sewn_regions if widths[r.id] < limit),
        key=lambda r: (widths[r.id], r.id),
    )
    groups = split_off_rest(areas)
    return tuple(_draft(g, widths, limit, region_map) for g in groups)


def narrowest_width_mm(polygon: shapely.Polygon, *, limit_mm: float) -> float:
    """Return the width of a shape's narrowest part that is worth asking about.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty, in mm.
    limit_mm : float [mm]
        Parts at least this wide do not matter.

    Returns
    -------
    float [mm]
        Below ``limit_mm``, or infinity when no part is.
    """
    opened = polygon.buffer(-limit_mm / 2).buffer(limit_mm / 2)
    if polygon.area - opened.area < limit_mm**2:
        return math.inf
    if opened.is_empty:
        return min(_usual_width_mm(polygon), limit_mm * (1 - 1e-9))
    found = (_narrowest_in(part, limit_mm) for part in _thin_parts(polygon, opened, limit_mm))
    return min(found, default=math.inf)


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


def _narrowest_in(part: shapely.Polygon, limit_mm: float) -> float:
    axis = medial_axis(part, spacing_mm=limit_mm / SAMPLES_PER_LIMIT)
    degree = np.bincount(axis.edges.ravel(), minlength=max(len(axis.nodes_mm), 1))
    widths = (_narrow_part_mm(branch, degree, limit_mm) for branch in axis.branches)
    return min(widths, default=math.inf)


def _usual_width_mm(polygon: shapely.Polygon) -> float:
    """Return the median width of a shape that is thinner than a thread everywhere."""
    axis = medial_axis(polygon)
    if len(axis.radii_mm):
        return 2.0 * float(np.median(axis.radii_mm))
    return 2.0 * polygon.area / polygon.length


def _narrow_part_mm(branch: AxisBranch, degree: NDArray[np.int64], limit_mm: float) -> float:
    """Return the narrowest stretch of one branch, infinity when none is long and narrow enough."""
    widths = 2.0 * branch.radii_mm
    steps = np.hypot(*np.diff(branch.points_mm, axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    edges = np.diff(np.concatenate([[0], (widths < limit_mm).astype(np.int8), [0]]))
    best = math.inf
    for first, stop in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        if at[stop - 1] - at[first] < SHORTEST_STRETCH * limit_mm:
            continue
        is_tip = (first == 0 and degree[branch.start_node] == 1) or (
            stop == len(widths) and degree[branch.end_node] == 1
        )
        share, ceiling = (0.75, TAPER_SHARE * limit_mm) if is_tip else (0.1, limit_mm)
        width = float(np.quantile(widths[first:stop], share))
        if width < ceiling:
            best = min(best, width)
    return best


def _draft(
    areas: tuple[Region, ...], widths: dict[int, float], limit_mm: float, region_map: RegionMap
) -> Draft:
    first = areas[0]
    narrowest = widths[first.id]
    # Every width grows in proportion to the height; rounded up to a whole millimetre.
    height = math.ceil(region_map.height_mm * limit_mm / narrowest - 1e-9)
    text = (
        _(
            "The {thread} detail {place} is {width} mm wide; one thread is {limit} mm."
            " It can be sewn as drawn from a height of {height} mm."
        )
        if len(areas) == 1
        else _(
            "{n} more details are narrower than one thread ({limit} mm), the finest {place} is"
            " {width} mm. All can be sewn as drawn from a height of {height} mm."
        )
    )
    return Draft(
        code=CODE,
        text=text.format(
            n=len(areas),
            thread=region_map.thread_of(first).name,
            place=place_words(first, region_map),
            width=f"{narrowest:.2f}",
            limit=f"{limit_mm:.2f}",
            height=height,
        ),
        region_ids=tuple(r.id for r in areas),
        where_mm=point_inside(first),
        choices=(
            Choice(_("sew it one thread wide, a little bolder than drawn"), "thicken"),
            Choice(_("leave it out"), "drop"),
            Choice(_("make the design {height} mm high").format(height=height), "height", height),
        ),
        sewable_height_mm=float(height),
    )
