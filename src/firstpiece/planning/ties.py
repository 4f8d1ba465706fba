"""Ties: a few small stitches that lock the thread where a run of it begins and ends.

Input: the first or last leg of a run and how far in its tie lies. Output: the leg with its tie,
along its own path so that the cover hides it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import arc_lengths, points_at
from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path, join_paths, make_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Places of the needle along the path, from the tie's outer end: three short stitches, none in
# another's hole (common practice, no source: three or four stitches of 0.5 to 0.8 mm).
TIE_AT_MM = np.array([0.0, 0.75, 0.2, 0.95])
# A tie may lie this far in from its run's end, in steps; the thread then runs back under cover.
SLIDE_STEP_MM = 0.6
FARTHEST_SLIDE_MM = 9.0
BACK_STEP_MM = 2.5
SHORTEST_LEG_MM = 0.1


def tie_slides(leg: Path, wished_mm: float | None = None) -> tuple[Floats, Floats]:
    """Return how far in the tie of a leg's beginning may lie, nearest first, and those places.

    Parameters
    ----------
    leg : Path
        At least one penetration.
    wished_mm : float or None [mm]
        How far in the tie is to lie, as far as the leg allows; None offers what may be.

    Returns
    -------
    slides : (k,) float64 [mm]
    places : (k, 2) float64 [mm]
    """
    xy = _line(leg)
    room = float(arc_lengths(xy)[-1]) - TIE_AT_MM[-1]
    if wished_mm is not None:
        slides = np.clip([wished_mm], 0.0, max(room, 0.0))
    else:
        farther = np.arange(2 * SLIDE_STEP_MM, min(room, FARTHEST_SLIDE_MM), SLIDE_STEP_MM)
        slides = np.concatenate([[0.0], farther])
    return slides, points_at(xy, slides)


def tie_in(leg: Path, slide: float = 0.0) -> Path:
    """Return a leg that begins with a tie.

    Parameters
    ----------
    leg : Path
        At least one penetration.
    slide : float [mm]
        How far in the tie lies, one of ``tie_slides``.
    """
    xy = _line(leg)
    tie = make_path(_tie_points(xy, slide), Role.TIE)
    if slide == 0.0:
        return join_paths([tie, _skip_tied(leg)])
    # The tie lies farther in; the thread then runs back to the leg's first place.
    back = points_at(xy, np.arange(slide, 0.0, -BACK_STEP_MM))
    return join_paths([tie, make_path(back, Role.TRAVEL), leg])


def tie_off(leg: Path, slide: float = 0.0) -> Path:
    """Return a leg that ends with a tie; the same as ``tie_in`` for the leg reversed."""
    return tie_in(leg.reversed(), slide).reversed()


def _line(leg: Path) -> Floats:
    if float(arc_lengths(leg.xy_mm)[-1]) > SHORTEST_LEG_MM:
        return leg.xy_mm
    return np.vstack([leg.xy_mm[:1], leg.xy_mm[:1] + np.array([0.4, 0.0])])


def _tie_points(xy: Floats, slide: float) -> Floats:
    """Return the tie's needle places; a leg shorter than the tie gets a shorter tie."""
    length = float(arc_lengths(xy)[-1])
    scale = min(1.0, max(length, 0.4) / TIE_AT_MM[-1])
    at = slide + TIE_AT_MM * scale
    if length >= at[-1] - 1e-9:
        return points_at(xy, at)
    step = xy[1] - xy[0]
    along = step / max(float(np.hypot(*step)), 1e-9)
    return np.asarray(xy[0] + at[:, None] * along)


def _skip_tied(leg: Path) -> Path:
    """Drop the penetrations that the tie has already passed; the last one always stays."""
    keep = arc_lengths(leg.xy_mm) > TIE_AT_MM[-1] + 0.3
    keep[-1] = True
    return Path(leg.xy_mm[keep], leg.role[keep])
