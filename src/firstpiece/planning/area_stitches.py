"""All stitches of one area, joined without leaving it where that is possible.

Input: the shape to sew and its recipe, where the needle comes from and goes to. Output: runs that
each are sewn without a cut; one for nearly every area.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import Role, StitchType
from firstpiece.planning.fill import RowSettings, fill_area
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.running import run_lines
from firstpiece.planning.travel import HiddenWays
from firstpiece.planning.underlay import fill_underlay

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.planning.recipe import Recipe

    Floats = NDArray[np.float64]

# Rows start this share of a thread inside the area's extremes, so the thread's edge meets them.
EDGE_THREADS = 0.4
# A thread turns round its hole, so it covers about this share of its width past the penetration.
TURN_THREADS = 0.25


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
        return run_lines(
            recipe.axis, thread_mm=recipe.thread_mm, step_mm=recipe.length_mm, entry_mm=entry_mm
        )
    under = fill_underlay(polygon, recipe, entry_mm)
    here = under[-1].end if under else entry_mm
    settings = RowSettings(
        angle_rad=recipe.angle_rad,
        spacing_mm=recipe.spacing_mm,
        length_mm=recipe.length_mm,
        pull_mm=recipe.pull_mm,
        turn_mm=TURN_THREADS * recipe.thread_mm,
        edge_mm=EDGE_THREADS * recipe.thread_mm,
    )
    cover = fill_area(polygon, settings, entry_mm=here, exit_mm=exit_mm)
    return join_hidden([*under, *cover], HiddenWays(polygon))


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
