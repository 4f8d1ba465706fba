"""Whether a plan clears a hoop: every place of needle and foot against the hoop's inner edge.

In: a plan, hoops. Out: the least distance left, the hoops that clear, where to hoop again when one
hoop is too small. Jumps count too: the foot travels them.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import InputError
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Hoop
    from firstpiece.model.stitch import StitchPlan

_ROUND_SIDES = 720
_LARGEST_SCALE, _HALVINGS = 64.0, 40
LAP_MM = 10.0
"""Two hoopings share a strip this wide, so that their seams can be sewn over each other."""


def needle_places(plan: StitchPlan) -> NDArray[np.float64]:
    """Return the corners (n, 2) float64 [mm] of the smallest outline round all needle places."""
    return outline_corners(plan.xy_mm[np.isin(plan.action, (Action.STITCH, Action.JUMP))])


def box_corners(width_mm: float, height_mm: float) -> NDArray[np.float64]:
    """Return the corners (4, 2) float64 [mm] of a box round the origin.

    For a design of which only the size is known: what clears with its box clears with its outline.
    """
    half = np.array([width_mm, height_mm]) / 2
    corners: NDArray[np.float64] = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    return corners


def outline_corners(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the corners (m, 2) float64 [mm] of the smallest outline round points (n, 2)."""
    if not len(points):
        return np.zeros((0, 2))
    # A line through all points has their hull and is made far faster than as many points.
    hull = shapely.LineString(np.concatenate([points, points[:1]])).convex_hull
    corners: NDArray[np.float64] = shapely.get_coordinates(hull)
    return corners


def hoop_edge(hoop: Hoop) -> shapely.Polygon:
    """Return the hoop's inner edge, centred on the origin [mm]."""
    half = np.array([hoop.width_mm, hoop.height_mm]) / 2
    if not hoop.is_round:
        box: shapely.Polygon = shapely.box(-half[0], -half[1], half[0], half[1])
        return box
    turn = np.linspace(0, 2 * np.pi, _ROUND_SIDES, endpoint=False)
    return shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]) * half)


def clearance_mm(plan: StitchPlan, hoop: Hoop) -> float:
    """Return the least distance from a needle place to the inner edge; negative when beyond [mm].

    The plan's origin is taken to lie at the hoop's centre.
    """
    return _least_distance(needle_places(plan), hoop)


def _least_distance(places: NDArray[np.float64], hoop: Hoop) -> float:
    edge = hoop_edge(hoop)
    if not len(places):
        return min(hoop.width_mm, hoop.height_mm) / 2
    corners = shapely.points(places)
    distance = shapely.distance(edge.exterior, corners)
    inside = shapely.covers(edge, corners)
    return float(np.where(inside, distance, -distance).min())


def clearing_hoops(plan: StitchPlan, hoops: tuple[Hoop, ...]) -> tuple[Hoop, ...]:
    """Return the hoops whose margin the plan keeps, in the given order."""
    places = needle_places(plan)
    return tuple(h for h in hoops if _clears(places, h))


def smallest_hoop(places: NDArray[np.float64], hoops: tuple[Hoop, ...]) -> Hoop | None:
    """Return the first hoop that an outline clears, or None.

    Parameters
    ----------
    places : (n, 2) float64 [mm]
        From ``needle_places``, or ``box_corners`` where only the size is known.
    hoops : tuple of Hoop
        Smallest first.
    """
    return next((h for h in hoops if _clears(places, h)), None)


def largest_scale(places: NDArray[np.float64], hoop: Hoop) -> float:
    """Return the scale at which an outline round the origin just clears a hoop, found by halving.

    Below 1 the design must be smaller.

    Parameters
    ----------
    places : (n, 2) float64 [mm]
    hoop : Hoop
    """
    low, high = 0.0, 1.0
    while high < _LARGEST_SCALE and _clears(places * high, hoop):
        low, high = high, 2 * high
    for _step in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _clears(places * middle, hoop) else (low, middle)
    return low


def _clears(places: NDArray[np.float64], hoop: Hoop) -> bool:
    return _least_distance(places, hoop) >= hoop.margin_mm - 1e-9


def check_clearance(plan: StitchPlan, hoop: Hoop, hoops: tuple[Hoop, ...]) -> None:
    """Refuse a hoop that the plan does not clear.

    Raises
    ------
    InputError
        Naming the hoops that would clear.
    """
    left = clearance_mm(plan, hoop)
    if left >= hoop.margin_mm - 1e-9:
        return
    others = ", ".join(h.name for h in clearing_hoops(plan, hoops))
    remedy = _("make the design smaller, or sew it in several hoopings")
    if others:
        remedy = _("use one that clears: {hoops}").format(hoops=others)
    what = _("the needle comes within {left:.1f} mm of the ring; {margin:.1f} mm are needed")
    if left < 0:
        what = _("the needle goes {beyond:.1f} mm beyond the ring; {margin:.1f} mm are needed")
    raise InputError(
        what.format(left=left, beyond=-left, margin=hoop.margin_mm),
        where=hoop.label,
        remedy=remedy,
    )


def hooping_centres(plan: StitchPlan, hoop: Hoop) -> tuple[tuple[float, float], ...]:
    """Return where the hoop's centre goes, hooping by hooping, so that all needle places clear.

    One centre at the origin when the plan clears the hoop as it is; else a grid of fields that
    share ``LAP_MM``, row by row from the upper left.
    """
    if clearance_mm(plan, hoop) >= hoop.margin_mm - 1e-9:
        return ((0.0, 0.0),)
    corners = needle_places(plan)
    low, high = corners.min(axis=0), corners.max(axis=0)
    field = np.array([hoop.width_mm, hoop.height_mm]) - 2 * hoop.margin_mm
    if hoop.is_round:
        # The largest rectangle of an ellipse with the same proportions.
        field /= math.sqrt(2)
    counts = [
        max(1, math.ceil((size - LAP_MM) / (room - LAP_MM)))
        for size, room in zip(high - low, field, strict=True)
    ]
    middle = (low + high) / 2
    xs, ys = (
        middle[k] + (np.arange(counts[k]) - (counts[k] - 1) / 2) * (high - low)[k] / counts[k]
        for k in (0, 1)
    )
    return tuple((float(x), float(y)) for y in ys[::-1] for x in xs)
