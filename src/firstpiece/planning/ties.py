"""Ties: a few small stitches that lock the thread where a run of it begins and ends.

Input: the first or last leg of a run and the ties laid so far. Output: the leg with its tie, along
its own path so that the cover hides it, moved along where too many ties would meet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import arc_lengths, points_at, split_long_steps
from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path, join_paths, make_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Places of the needle along the path, from the tie's outer end: three short stitches, none in
# another's hole (common practice, no source: three or four stitches of 0.5 to 0.8 mm).
TIE_AT_MM = np.array([0.0, 0.75, 0.2, 0.95])
# Three ties that meet make a lump of a millimetre on the back (our lump model): two may.
MOST_TOGETHER = 2
TOGETHER_MM = 1.05
SLIDES_MM = (0.0, 1.2, 2.4, 3.6, 4.8)
BACK_STEP_MM = 2.5
SHORTEST_LEG_MM = 0.1


def tie_in(leg: Path, taken: list[Floats], wished_mm: float | None = None) -> Path:
    """Return a leg that begins with a tie; ``taken`` gains the tie's place.

    Parameters
    ----------
    leg : Path
        At least one penetration.
    taken : list of (2,) float64 [mm]
        Ties laid so far.
    wished_mm : float or None [mm]
        How far in the tie is to lie, as far as the leg allows; None lies it where there is room.
    """
    xy = _line(leg)
    slide = _free_slide(xy, taken) if wished_mm is None else _as_far(xy, wished_mm)
    taken.append(points_at(xy, np.array([slide]))[0])
    if slide == 0.0:
        tie = make_path(_tie_points(xy, 0.0), Role.TIE)
        return join_paths([tie, _skip_tied(leg)])
    # The tie lies farther in; the thread then runs back to the leg's first place.
    tie = make_path(_tie_points(xy, slide), Role.TIE)
    back = points_at(xy, np.array([slide, slide / 2, 0.0]))
    return join_paths([tie, make_path(_steps(back)[1:-1], Role.TRAVEL), leg])


def tie_off(leg: Path, taken: list[Floats], wished_mm: float | None = None) -> Path:
    """Return a leg that ends with a tie; the same as ``tie_in`` for the leg reversed."""
    return tie_in(leg.reversed(), taken, wished_mm).reversed()


def _line(leg: Path) -> Floats:
    if float(arc_lengths(leg.xy_mm)[-1]) > SHORTEST_LEG_MM:
        return leg.xy_mm
    return np.vstack([leg.xy_mm[:1], leg.xy_mm[:1] + np.array([0.4, 0.0])])


def _free_slide(xy: Floats, taken: list[Floats]) -> float:
    """Return how far in the tie must move so that no more than two meet, 0 when it cannot."""
    if len(taken) < MOST_TOGETHER:
        return 0.0
    length = float(arc_lengths(xy)[-1])
    places = np.array(taken)
    for slide in SLIDES_MM:
        if slide + TIE_AT_MM[-1] > max(length, TIE_AT_MM[-1]):
            break
        gaps = np.hypot(*(places - points_at(xy, np.array([slide]))).T)
        if np.count_nonzero(gaps <= TOGETHER_MM) < MOST_TOGETHER:
            return slide
    return 0.0


def _as_far(xy: Floats, wished_mm: float) -> float:
    """Return how far in a tie can lie on this path, at most as far as wished."""
    room = float(arc_lengths(xy)[-1]) - TIE_AT_MM[-1]
    return float(np.clip(wished_mm, 0.0, max(room, 0.0)))


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


def _steps(xy: Floats) -> Floats:
    return split_long_steps(xy[[0, -1]], BACK_STEP_MM) if len(xy) else xy
