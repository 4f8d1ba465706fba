"""Open lines in the plane: length, even resampling, places along them, offsets to the side."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.line_bends import bend_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def arc_lengths(xy_mm: Floats) -> Floats:
    """Return the distance along the line of each of its points.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]

    Returns
    -------
    (n,) float64 [mm]
        Starts at 0.
    """
    steps = np.hypot(*np.diff(xy_mm, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def polyline_length(xy_mm: Floats) -> float:
    """Return the length [mm] of a line given as (n, 2) float64 [mm]."""
    return float(arc_lengths(xy_mm)[-1])


def points_at(xy_mm: Floats, at_mm: Floats) -> Floats:
    """Return the points at distances along a line, clamped to its ends.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
        n ≥ 1.
    at_mm : (k,) float64 [mm]

    Returns
    -------
    (k, 2) float64 [mm]
    """
    s = arc_lengths(xy_mm)
    return np.column_stack([np.interp(at_mm, s, xy_mm[:, 0]), np.interp(at_mm, s, xy_mm[:, 1])])


def drop_near_points(xy_mm: Floats, shortest_mm: float) -> Floats:
    """Return the line without points closer than ``shortest_mm`` to the last kept; ends stay.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    shortest_mm : float [mm]

    Returns
    -------
    (k, 2) float64 [mm]
    """
    if len(xy_mm) < 2:
        return xy_mm
    keep = [0]
    for i in range(1, len(xy_mm)):
        if np.hypot(*(xy_mm[i] - xy_mm[keep[-1]])) >= shortest_mm:
            keep.append(i)
    if keep[-1] != len(xy_mm) - 1:
        if len(keep) > 1:
            keep.pop()
        keep.append(len(xy_mm) - 1)
    return xy_mm[keep]


def split_long_steps(xy_mm: Floats, longest_mm: float) -> Floats:
    """Return the line with steps longer than ``longest_mm`` cut into equal shorter ones.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    longest_mm : float [mm]
        More than 0.

    Returns
    -------
    (k, 2) float64 [mm]
    """
    if len(xy_mm) < 2:
        return xy_mm
    steps = np.hypot(*np.diff(xy_mm, axis=0).T)
    parts = np.maximum(1, np.ceil(steps / longest_mm - 1e-9).astype(np.int64))
    at = np.repeat(np.arange(len(steps)), parts)
    start = np.concatenate([[0], np.cumsum(parts)[:-1]])
    share = (np.arange(len(at)) - start[at] + 1) / parts[at]
    inner = xy_mm[at] + share[:, None] * (xy_mm[at + 1] - xy_mm[at])
    ends = np.cumsum(parts) - 1
    inner[ends] = xy_mm[1:]
    return np.vstack([xy_mm[:1], inner])


def run_along(xy_mm: Floats, step_mm: float, *, sag_mm: float = 0.12) -> Floats:
    """Return penetrations along a line: near ``step_mm`` apart, nearer where the line bends.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    step_mm : float [mm]
        Longest step.
    sag_mm : float [mm]
        How far a step may cut a bend.

    Returns
    -------
    (k, 2) float64 [mm]
        First and last points of the line are kept.
    """
    if len(xy_mm) < 3:
        return split_long_steps(xy_mm, step_mm)
    kept = xy_mm[bend_points(np.ascontiguousarray(xy_mm, dtype=np.float64), sag_mm)]
    return split_long_steps(kept, step_mm)


def offset_sideways(xy_mm: Floats, offset_mm: Floats) -> Floats:
    """Return a line moved to its right by ``offset_mm`` at each point.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
        n ≥ 2.
    offset_mm : (n,) float64 [mm]

    Returns
    -------
    (n, 2) float64 [mm]
    """
    along = np.gradient(xy_mm, axis=0)
    along /= np.maximum(np.hypot(along[:, :1], along[:, 1:]), 1e-12)
    right = np.column_stack([along[:, 1], -along[:, 0]])
    return xy_mm + right * offset_mm[:, None]
