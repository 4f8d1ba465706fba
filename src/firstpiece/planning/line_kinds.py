"""The kinds of running line: from an even row of steps to triple, hand-look, dotted, motif lines.

Input: a line and a step. Output: penetrations. Each line's steps come out even, and its corners and
ends are penetrations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import arc_lengths, points_at, run_along
from firstpiece.model.stitch import Motif, RunKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Common practice, no source: a hand stitch shows 2 to 3 mm of thread and hides about 1 mm.
DASH_MM, GAP_MM = 2.6, 1.0
DOT_MM, LINK_MM = 0.8, 2.0
SAG_MM = 0.08

# One repeat: its length, then along (shares of it) and to the left (mm), from line to line.
MOTIFS: dict[Motif, tuple[float, tuple[tuple[float, float], ...]]] = {
    Motif.SCALLOP: (
        3.6,
        ((0, 0), (0.06, 0.6), (0.25, 1.1), (0.5, 1.3), (0.75, 1.1), (0.94, 0.6), (1, 0)),
    ),
    Motif.LEAF: (
        5.0,
        ((0, 0), (0.3, 0), (0.42, 0.9), (0.75, 1.3), (0.62, 0.4), (0.3, 0), (0.5, 0),
         (0.62, -0.9), (0.95, -1.3), (0.82, -0.4), (0.5, 0), (1, 0)),
    ),
    Motif.CROSS: (
        4.0,
        ((0, 0), (0.5, 0), (0.22, 1.1), (0.5, 0), (0.78, -1.1), (0.5, 0), (0.22, -1.1), (0.5, 0),
         (0.78, 1.1), (0.5, 0), (1, 0)),
    ),
    Motif.TOOTH: (3.0, ((0, 0), (0.5, 1.6), (1, 0))),
}  # fmt: skip


def sew_line(
    xy_mm: Floats, kind: RunKind, *, step_mm: float, motif: Motif = Motif.SCALLOP
) -> Floats:
    """Return the penetrations of a line of a kind.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
        The line; ``RunKind.DOUBLE`` is run as single here, its way back is the caller's.
    kind : RunKind
    step_mm : float [mm]
    motif : Motif

    Returns
    -------
    (k, 2) float64 [mm]
    """
    if len(xy_mm) < 2 or float(arc_lengths(xy_mm)[-1]) < 1e-6:
        return xy_mm
    if kind is RunKind.TRIPLE:
        return _triple(run_along(xy_mm, step_mm, sag_mm=SAG_MM))
    if kind is RunKind.HAND:
        return _rhythm(xy_mm, DASH_MM, GAP_MM)
    if kind is RunKind.STIPPLE:
        return _rhythm(xy_mm, DOT_MM, LINK_MM)
    if kind is RunKind.MOTIF:
        return _repeat(xy_mm, motif)
    return run_along(xy_mm, step_mm, sag_mm=SAG_MM)


def _triple(points: Floats) -> Floats:
    """Return each step sewn forward, back and forward again."""
    a, b = points[:-1], points[1:]
    steps = np.stack([a, b, a], axis=1).reshape(-1, 2)
    return np.vstack([steps, points[-1:]])


def _rhythm(xy: Floats, thick_mm: float, thin_mm: float) -> Floats:
    """Return thick stitches, sewn three times over, with thin single ones between."""
    total = float(arc_lengths(xy)[-1])
    count = max(1, round((total + thin_mm) / (thick_mm + thin_mm)))
    scale = total / (count * (thick_mm + thin_mm) - thin_mm)
    starts = np.arange(count) * (thick_mm + thin_mm) * scale
    ends = starts + thick_mm * scale
    at = np.stack([starts, ends, starts, ends], axis=1).ravel()
    return points_at(xy, np.minimum(at, total))


def _repeat(xy: Floats, motif: Motif) -> Floats:
    """Return a motif repeated along a line a whole number of times."""
    length_mm, form = MOTIFS[motif]
    lengths = arc_lengths(xy)
    total = float(lengths[-1])
    count = max(1, round(total / length_mm))
    scale = min(1.0, total / (count * length_mm))
    share = np.array(form)
    at = ((np.arange(count)[:, None] + share[:, 0]) * total / count).ravel()
    off = np.tile(share[:, 1] * scale, count)
    place = points_at(xy, at)
    reach = 0.25 * total / count
    ahead = points_at(xy, np.clip(at + reach, 0, total))
    behind = points_at(xy, np.clip(at - reach, 0, total))
    along = ahead - behind
    along /= np.maximum(np.hypot(along[:, :1], along[:, 1:]), 1e-9)
    points = place + off[:, None] * np.column_stack([-along[:, 1], along[:, 0]])
    keep = np.concatenate([[True], np.hypot(*np.diff(points, axis=0).T) > 1e-6])
    return np.asarray(points[keep])
