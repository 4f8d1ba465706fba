"""Satin columns for any narrow shape: strokes, letters, rings, tapered and branching areas.

The shape is divided into strips along its medial axis; each strip becomes one zigzag column. In: a
polygon and the spacing. Out: columns in a sensible sewing order, stitches crossing each strip at
about a right angle.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.chord_graph import chord_graph
from firstpiece.geometry.ladder import rung_widths, smoothed
from firstpiece.geometry.strip_corners import cut_at_corners
from firstpiece.geometry.strip_ends import blob_ladder, extended_ladder
from firstpiece.geometry.strips import Strip, find_strips
from firstpiece.planning.column_order import order_columns
from firstpiece.planning.column_stitches import (
    ColumnSettings,
    split_long,
    without_short_steps,
    zigzag,
)
from firstpiece.planning.satin_column import SatinColumn

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["SatinColumn", "satin_stitches"]

# A butted end runs on under the column it meets by this much, so that pull opens no gap there.
_OVERLAP_MM = 0.5
# Rails are cut by chords on curves and by shortcuts at junctions; more than this is a stray.
_STRAY_MM = 0.03
# Rungs turn over this share of the median width.
_TURN_SHARE = 0.5


def satin_stitches(
    polygon: shapely.Polygon,
    *,
    column_spacing_mm: float,
    pull_mm: float,
    longest_stitch_mm: float,
    thread_width_mm: float,
) -> tuple[SatinColumn, ...]:
    """Return satin columns that cover a shape.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty, in mm.
    column_spacing_mm : float [mm]
        One penetration to the next on the same side, 0.1 to 5.
    pull_mm : float [mm]
        Widening of each side along the stitch; below 0 draws the holes in, so that the turning
        thread and not the hole ends at the outline.
    longest_stitch_mm : float [mm]
        Longer stitches (or longer than 8 mm) are split, with staggered holes.
    thread_width_mm : float [mm]
        Laid width; a shape with less area than its square gives no column.

    Returns
    -------
    tuple of SatinColumn
        Columns that butt on another come before it. A disc or other shape without an axis gives
        one column straight across. Empty for a shape too small to sew.

    Raises
    ------
    ValueError
        When a length is out of range.
    """
    _check(column_spacing_mm, pull_mm, longest_stitch_mm)
    if polygon.is_empty or polygon.area < thread_width_mm**2:
        return ()
    settings = ColumnSettings(column_spacing_mm, pull_mm, longest_stitch_mm)
    low = np.array(polygon.bounds[:2])
    # Near the origin and on a fine grid, so that a shape is sewn alike wherever it lies.
    local = shapely.transform(polygon, lambda xy: np.round(xy - low, 7))
    columns = _columns(local if local.is_valid else shapely.make_valid(local), settings)
    return tuple(replace(c, points_mm=c.points_mm + low, axis_mm=c.axis_mm + low) for c in columns)


def _columns(shape: shapely.Geometry, settings: ColumnSettings) -> tuple[SatinColumn, ...]:
    """Return the columns of a shape, or of its largest part where rounding cut it."""
    polygon = max(
        (p for p in shapely.get_parts(shape) if isinstance(p, shapely.Polygon)),
        key=lambda p: p.area,
    )
    guard = _Guard(polygon, settings.pull_mm)
    strips = [
        piece for strip in find_strips(chord_graph(polygon)) for piece in cut_at_corners(strip)
    ]
    if not strips:
        column = _column(blob_ladder(polygon), settings, guard, is_closed=False)
        return () if column is None else (column,)
    pairs = [(s, _column(_ladder(s), settings, guard, is_closed=s.is_closed)) for s in strips]
    sewn = [(s, c) for s, c in pairs if c is not None]
    return order_columns([s for s, _ in sewn], [c for _, c in sewn])


def _check(column_spacing_mm: float, pull_mm: float, longest_stitch_mm: float) -> None:
    if not 0.1 <= column_spacing_mm <= 5.0:
        msg = "the column spacing must be 0.1 to 5 mm"
        raise ValueError(msg)
    if not -1.0 <= pull_mm <= 2.0:
        msg = "the widening for pull must be -1 to 2 mm"
        raise ValueError(msg)
    if not longest_stitch_mm >= 1.0:
        msg = "the longest stitch must be at least 1 mm"
        raise ValueError(msg)


class _Guard:
    """Keeps penetrations within the shape and its pull, whatever the ladder was."""

    def __init__(self, polygon: shapely.Polygon, pull_mm: float) -> None:
        self.allowed = polygon.buffer(max(pull_mm, 0.0) + _STRAY_MM)
        shapely.prepare(self.allowed)

    def inside(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the points, strays moved to the nearest allowed place."""
        stray = ~shapely.contains_xy(self.allowed, points[:, 0], points[:, 1])
        if not stray.any():
            return points
        moved = points.copy()
        lines = shapely.shortest_line(self.allowed, shapely.points(points[stray]))
        moved[stray] = shapely.get_coordinates(lines)[::2]
        return moved


def _ladder(strip: Strip) -> NDArray[np.float64]:
    ladder = extended_ladder(strip, overlap_mm=_OVERLAP_MM)
    width = float(np.median(rung_widths(strip.ladder_mm)))
    return smoothed(ladder, window_mm=_TURN_SHARE * width, step_mm=0.1, is_closed=strip.is_closed)


def _column(
    ladder: NDArray[np.float64], settings: ColumnSettings, guard: _Guard, *, is_closed: bool
) -> SatinColumn | None:
    """Return the column of a ladder, or None when it is too small for two stitches."""
    points = without_short_steps(guard.inside(zigzag(ladder, settings, is_closed=is_closed)))
    whole = split_long(points, settings.longest_stitch_mm)
    if len(whole) > len(points):
        # A split stitch may pass over a notch of the outline.
        points = without_short_steps(guard.inside(whole))
    if len(points) < 2:
        return None
    thinned = ladder[:: max(len(ladder) // 200, 1)]
    if not np.array_equal(thinned[-1], ladder[-1]):
        thinned = np.concatenate([thinned, ladder[-1:]])
    return SatinColumn(points, thinned.mean(axis=1), rung_widths(thinned), is_closed)
