"""Ties: a few small stitches that lock the thread where a run of it begins and ends.

Input: a run's penetrations. Output: the same with a tie at each end, along its own path so that
the cover hides it.
"""

from __future__ import annotations

import numpy as np

from firstpiece.geometry.polyline import arc_lengths, points_at
from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path, join_paths, make_path

# Places of the needle along the path, from its end: three short stitches, none in another's hole
# (common practice, no source: three to four stitches of 0.5 to 0.8 mm).
TIE_AT_MM = np.array([0.0, 0.75, 0.2, 0.95])


def tie_run(run: Path) -> Path:
    """Return a run with a tie-in before its first and a tie-off after its last stitch."""
    if len(run) == 0:
        return run
    xy = run.xy_mm if len(run) > 1 else np.vstack([run.xy_mm, run.xy_mm + [[0.3, 0.0]]])
    length = float(arc_lengths(xy)[-1])
    at = TIE_AT_MM * min(1.0, max(length, 0.5) / TIE_AT_MM[-1])
    tie_in = points_at(xy, at) if length >= at[-1] - 1e-9 else _along_first(xy, at)
    back = xy[::-1]
    tie_off = points_at(back, at) if length >= at[-1] - 1e-9 else _along_first(back, at)
    body = _skip_tied(Path(xy, run.role if len(run) > 1 else np.repeat(run.role, 2)), at[-1])
    return join_paths([make_path(tie_in, Role.TIE), body, make_path(tie_off[1:], Role.TIE)])


def _skip_tied(run: Path, tied_mm: float) -> Path:
    """Drop the penetrations that the tie-in has already passed; the last one always stays."""
    s = arc_lengths(run.xy_mm)
    keep = s > tied_mm + 0.3
    keep[-1] = True
    return Path(run.xy_mm[keep], run.role[keep])


def _along_first(xy: np.ndarray[tuple[int, ...], np.dtype[np.float64]], at: np.ndarray[
    tuple[int, ...], np.dtype[np.float64]
]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:  # fmt: skip
    step = xy[1] - xy[0]
    length = float(np.hypot(*step))
    along = step / length if length > 1e-9 else np.array([1.0, 0.0])
    return xy[0] + at[:, None] * along
