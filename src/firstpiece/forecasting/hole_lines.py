"""Needle holes in a line: how near they come, and where they could tear like a stamp's edge.

Input: a plan and a needle. Output: distances and the cloth left between holes, as a proxy; how far
a hole closes again is not known, so no damage is forecast.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from firstpiece.model.forecast import HoleLine
from firstpiece.model.memo import Memo
from firstpiece.model.stitch import Role, StitchType

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Needle
    from firstpiece.model.stitch import StitchPlan

# Holes nearer than this are one hole entered twice.
SAME_HOLE_MM = 0.1
MOST_ENTERED = 5
# Share of the blade that stays open: low, middle, high (guess); it decides the verdict.
OPEN_SHARES = (0.2, 0.45, 0.8)
NEAR_PERCENT = 5.0


def hole_lines(plan: StitchPlan, needle: Needle, memo: Memo | None = None) -> tuple[HoleLine, ...]:
    """Return per sewn area how near its holes lie, the nearest first.

    Parameters
    ----------
    plan : StitchPlan
    needle : Needle
    memo : Memo or None

    Notes
    -----
    Along the edges of a satin column holes follow each other at the column spacing; the cloth left
    between two is 1 − f·blade/pitch of the pitch, where f is the share of the blade's width that
    stays open. Literature ties damage to needle size and yarn friction; none gives a limit.
    """
    satin = {t.region_id for t in plan.treatments if t.stitch_type is StitchType.SATIN}
    known = memo or Memo()
    found = []
    is_cover = plan.is_stitch & (plan.role == Role.COVER)
    for treatment in plan.treatments:
        points = plan.xy_mm[is_cover & (plan.region_id == treatment.region_id)]
        if len(points) < 3:
            continue
        nearest = known.recall("nearest holes", points.tobytes(), partial(_near_mm, points))
        pitch = _edge_pitch_mm(points) if treatment.region_id in satin else None
        left = None
        if pitch is not None:
            left = tuple(1.0 - f * needle.blade_mm / pitch for f in reversed(OPEN_SHARES))
        found.append(
            HoleLine(
                region_id=treatment.region_id,
                nearest_mm=nearest,
                edge_pitch_mm=pitch,
                cloth_left=left,
            )
        )
    return tuple(sorted(found, key=lambda line: (line.nearest_mm, line.region_id)))


def _near_mm(points: NDArray[np.float64]) -> float:
    nearest = nearest_holes_mm(points)
    return float(np.percentile(nearest, NEAR_PERCENT)) if len(nearest) else 0.0


def nearest_holes_mm(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the distance from each hole to the nearest other hole.

    Parameters
    ----------
    points : (n, 2) float64 [mm]

    Returns
    -------
    (k,) float64 [mm]
        Past the same hole entered again (up to three times); one hole alone has none.
    """
    if len(points) < 2:
        return np.zeros(0)
    found = cKDTree(points).query(points, k=min(MOST_ENTERED, len(points)))[0]
    distance = np.asarray(found, dtype=np.float64)[:, 1:]
    apart = np.where(distance >= SAME_HOLE_MM, distance, np.inf).min(axis=1)
    nearest: NDArray[np.float64] = apart[np.isfinite(apart)]
    return nearest


def _edge_pitch_mm(points: NDArray[np.float64]) -> float | None:
    """Return the median distance from a penetration to the next but one: the same side's next."""
    steps = np.hypot(*(points[2:] - points[:-2]).T)
    steps = steps[steps >= SAME_HOLE_MM]
    return float(np.median(steps)) if len(steps) else None
