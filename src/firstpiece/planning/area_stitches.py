"""All stitches of one area, joined without leaving it where that is possible.

Input: the shape to sew and its recipe, where the needle comes from and goes to. Output: runs that
each are sewn without a cut; one for nearly every area.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.row_field import RowField
from firstpiece.model.stitch import Role, RowCourse, StitchType
from firstpiece.planning.cell_walk import RowSettings
from firstpiece.planning.column_tree import sew_column_tree
from firstpiece.planning.compensation import pull_share
from firstpiece.planning.fill import fill_area, fill_warped
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.recipe import FILL_LENGTH_MM, ROW_SPACING_THREADS
from firstpiece.planning.residual import bare_spots
from firstpiece.planning.row_direction import row_angle
from firstpiece.planning.row_warp import (
    FadeWarp,
    asked_guides,
    curve_warp,
    curved_length,
    shape_guides,
)
from firstpiece.planning.running import LineSettings, run_axis
from firstpiece.planning.satin import satin_stitches
from firstpiece.planning.satin_path import sew_column, sound_columns
from firstpiece.planning.travel import HiddenWays
from firstpiece.planning.underlay import fill_underlay

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.planning.recipe import Recipe
    from firstpiece.planning.row_warp import Warp

    Floats = NDArray[np.float64]

# Rows start this share of a thread inside the area's extremes, so the thread's edge meets them.
EDGE_THREADS = 0.4
# A thread turns round its hole, so it covers about this share of its width past the penetration.
TURN_THREADS = 0.5
# Columns that leave more of an area bare than this do not suit its shape.
MOST_BARE = 0.25


def sew_area(
    polygon: shapely.Polygon, recipe: Recipe, *, entry_mm: Floats, exit_mm: Floats | None
) -> list[Path]:
    """Return the runs that sew one area, underlay first.

    Parameters
    ----------
    polygon : shapely.Polygon
        The shape to cover, overlaps included.
    recipe : Recipe
    entry_mm : (2,) float64 [mm]
    exit_mm : (2,) float64 [mm] or None
    """
    if recipe.stitch_type is StitchType.RUNNING and recipe.axis is not None:
        settings = LineSettings(recipe.line, recipe.length_mm, recipe.thread_mm, recipe.motif)
        return run_axis(recipe.axis, settings, entry_mm)
    if recipe.stitch_type is StitchType.SATIN:
        return _satin(polygon, recipe, entry_mm, exit_mm)
    return _fill(polygon, recipe, entry_mm, exit_mm)


def column_widening(polygon: shapely.Polygon, recipe: Recipe) -> float:
    """Return how far a satin's columns reach past the drawn edge on each side [mm]."""
    width = 2 * polygon.area / polygon.length
    return recipe.pull_mm * float(pull_share(np.array([width]))[0])


def _satin(
    polygon: shapely.Polygon, recipe: Recipe, entry_mm: Floats, exit_mm: Floats | None
) -> list[Path]:
    """Sew columns; spots they leave open are sewn over first, and a poor result is filled."""
    pull = column_widening(polygon, recipe)
    columns = satin_stitches(
        polygon,
        column_spacing_mm=recipe.spacing_mm,
        pull_mm=pull - TURN_THREADS * recipe.thread_mm,
        longest_stitch_mm=recipe.length_mm,
        thread_width_mm=recipe.thread_mm,
    )
    columns = sound_columns(columns, polygon, pull + recipe.thread_mm)
    covers = [make_path(c.points_mm, Role.COVER) for c in columns]
    share, spots = bare_spots(polygon, covers, recipe.thread_mm)
    if not columns or share > MOST_BARE:
        return _fill(polygon, recipe, entry_mm, exit_mm)
    patches = [p for spot in spots for p in _rows(spot, recipe, entry_mm, None)]
    here = patches[-1].end if patches else entry_mm
    if len(columns) > 1:
        runs = sew_column_tree(columns, polygon, here)
    else:
        runs = [sew_column(columns[0], recipe, polygon, here, exit_mm)]
    return join_hidden([*patches, *runs], HiddenWays(polygon))


def _fill(
    polygon: shapely.Polygon, recipe: Recipe, entry_mm: Floats, exit_mm: Floats | None
) -> list[Path]:
    under = fill_underlay(polygon, recipe, entry_mm)
    here = under[-1].end if under else entry_mm
    cover = _rows(polygon, recipe, here, exit_mm)
    return join_hidden([*under, *cover], HiddenWays(polygon))


def _rows(
    polygon: shapely.Polygon, recipe: Recipe, entry_mm: Floats, exit_mm: Floats | None
) -> list[Path]:
    is_fill = recipe.stitch_type is StitchType.FILL
    settings = RowSettings(
        angle_rad=recipe.angle_rad if is_fill else row_angle(polygon),
        spacing_mm=recipe.spacing_mm if is_fill else ROW_SPACING_THREADS * recipe.thread_mm,
        length_mm=recipe.length_mm if is_fill else FILL_LENGTH_MM,
        edge_mm=EDGE_THREADS * recipe.thread_mm,
        pull_mm=recipe.pull_mm,
        turn_mm=TURN_THREADS * recipe.thread_mm,
        relief=recipe.relief,
        feather_mm=recipe.feather_mm,
    )
    warp = _warp(polygon, recipe) if is_fill else None
    if warp is None:
        return fill_area(polygon, settings, entry_mm=entry_mm, exit_mm=exit_mm)
    length = settings.length_mm
    if isinstance(warp, RowField):
        length = curved_length(warp, length)
    settings = replace(settings, angle_rad=0.0, length_mm=length)
    return fill_warped(polygon, settings, warp, entry_mm=entry_mm, exit_mm=exit_mm)


def _warp(polygon: shapely.Polygon, recipe: Recipe) -> Warp | None:
    """Return the coordinates of rows that are not plain, None for plain ones."""
    if recipe.fade_rad is not None:
        return FadeWarp.over(polygon, recipe.fade_rad)
    if recipe.guides:
        return curve_warp(polygon, asked_guides(recipe.guides, polygon.area**0.5))
    if recipe.course is RowCourse.CURVED:
        return curve_warp(polygon, shape_guides(polygon))
    return None


def join_hidden(paths: list[Path], ways: HiddenWays) -> list[Path]:
    """Return paths joined by travel inside the area; a new run begins where there is no way."""
    runs: list[list[Path]] = []
    for path in paths:
        if not len(path):
            continue
        way = ways.find(runs[-1][-1].end, path.start) if runs else None
        if way is None:
            runs.append([path])
        else:
            runs[-1] += [make_path(way[1:-1], Role.TRAVEL), path]
    return [join_paths(parts) for parts in runs]
