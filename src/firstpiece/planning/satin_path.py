"""One satin column with its underlay, and the check that columns follow their area.

Input: columns as cut from an area. Output: the sound ones; a path for a single one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.polyline import arc_lengths, offset_sideways, points_at, run_along
from firstpiece.model.stitch import Role, Underlay
from firstpiece.planning.path import Path, join_paths, make_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.planning.recipe import Recipe
    from firstpiece.planning.satin import SatinColumn

    Floats = NDArray[np.float64]

# Common practice, no source: a centre run from about 1 mm of width, edge runs from about 2.5 mm,
# a zigzag beneath from about 4 mm.
UNDERLAY_FROM_MM = 1.2
EDGE_FROM_MM = 2.5
ZIGZAG_FROM_MM = 4.0
ZIGZAG_STEP_MM = 2.0
STEP_MM = 2.2
THINNEST_MM = 0.3
# A column with more of its stitches outside the area does not follow it.
MOSTLY_INSIDE = 0.97


def sound_columns(
    columns: tuple[SatinColumn, ...], polygon: shapely.Polygon, reach_mm: float
) -> tuple[SatinColumn, ...]:
    """Return the columns that stay near their area and are wide enough for a needle.

    Parameters
    ----------
    columns : tuple of SatinColumn
    polygon : shapely.Polygon
    reach_mm : float [mm]
        How far stitches may leave the area.
    """
    room = polygon.buffer(reach_mm)
    shapely.prepare(room)
    kept = []
    for column in columns:
        xy = column.points_mm
        steps = np.hypot(*np.diff(xy, axis=0).T)
        if len(xy) < 3 or float(np.median(steps)) < THINNEST_MM:
            continue
        stitches = shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1))
        if np.mean(shapely.covers(room, stitches)) >= MOSTLY_INSIDE:
            kept.append(column)
    return tuple(kept)


def sew_column(
    column: SatinColumn,
    recipe: Recipe,
    polygon: shapely.Polygon,
    entry_mm: Floats,
    exit_mm: Floats | None,
) -> Path:
    """Return one column with its underlay, from its nearer end to the one nearer the exit.

    Parameters
    ----------
    column : SatinColumn
    recipe : Recipe
    polygon : shapely.Polygon
        Underlay stays inside it.
    entry_mm : (2,) float64 [mm]
    exit_mm : (2,) float64 [mm] or None
    """
    cover, axis, widths = column.points_mm, column.axis_mm, column.widths_mm
    if not column.is_closed and _gap(entry_mm, cover[-1]) < _gap(entry_mm, cover[0]):
        cover, axis, widths = cover[::-1], axis[::-1], widths[::-1]
    back = (
        exit_mm is not None
        and not column.is_closed
        and _gap(cover[0], exit_mm) < _gap(cover[-1], exit_mm)
    )
    under = _underlay(axis, widths, recipe, out_only=back)
    if len(under) and not polygon.covers(shapely.LineString(under.xy_mm)):
        under = join_paths([])
    if back and len(under):
        cover = cover[::-1]
    return join_paths([under, make_path(cover, Role.COVER)])


def _underlay(axis: Floats, widths: Floats, recipe: Recipe, *, out_only: bool) -> Path:
    """Return the column's underlay: out only, or out and back to where it began."""
    width = float(np.median(widths))
    length = float(arc_lengths(axis)[-1])
    if not recipe.underlay or width < UNDERLAY_FROM_MM or length < width / 2 or length < 1.0:
        return join_paths([])
    if Underlay.ZIGZAG in recipe.underlay and width >= ZIGZAG_FROM_MM:
        there = _zigzag(axis, widths)
        back = run_along(axis[::-1], STEP_MM)
    elif width >= EDGE_FROM_MM and not out_only:
        side = np.maximum(widths / 2 - 0.7, 0.2)
        there = run_along(offset_sideways(axis, side), STEP_MM)
        back = run_along(offset_sideways(axis[::-1], side[::-1]), STEP_MM)
    else:
        there = run_along(axis, STEP_MM)
        back = there[-2::-1]
    parts = [make_path(there, Role.UNDERLAY)]
    if not out_only:
        parts.append(make_path(back, Role.UNDERLAY))
    return join_paths(parts)


def _zigzag(axis: Floats, widths: Floats) -> Floats:
    """Return a wide zigzag that stays 0.6 mm inside the column."""
    length = float(arc_lengths(axis)[-1])
    at = np.linspace(0.0, length, max(3, 2 * round(length / ZIGZAG_STEP_MM) + 1))
    middle = points_at(axis, at)
    width = np.interp(at, arc_lengths(axis), widths)
    side = np.where(np.arange(len(at)) % 2 == 0, 1.0, -1.0) * np.maximum(width / 2 - 0.6, 0.0)
    side[[0, -1]] = 0.0
    return offset_sideways(middle, side)


def _gap(a: Floats, b: Floats) -> float:
    return float(np.hypot(*(a - b)))
