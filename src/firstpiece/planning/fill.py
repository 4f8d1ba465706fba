"""Fill: staggered rows over an area, routed so that the needle never has to leave it.

Input: a polygon and row settings. Output: one ``Path`` a connected group of the rows' cells.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.rows import RowGrid, cut_into_rows, turn_points
from firstpiece.planning.cell_walk import CellWalk, RowSettings
from firstpiece.planning.path import Path
from firstpiece.planning.row_warp import warped_area

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.planning.row_warp import Warp

    Floats = NDArray[np.float64]


def fill_warped(
    area: shapely.Polygon,
    settings: RowSettings,
    warp: Warp,
    *,
    entry_mm: Floats,
    exit_mm: Floats | None = None,
) -> list[Path]:
    """Return the stitches that fill an area with rows straight in a warp's coordinates.

    Parameters
    ----------
    area : shapely.Polygon
    settings : RowSettings
        Its ``angle_rad`` is that of rows in the warp: 0.
    warp : Warp
    entry_mm : (2,) float64 [mm]
    exit_mm : (2,) float64 [mm] or None
    """
    goal = None if exit_mm is None else warp.to_rows(exit_mm[None])[0]
    entry = warp.to_rows(entry_mm[None])[0]
    paths = fill_area(warped_area(area, warp), settings, entry_mm=entry, exit_mm=goal)
    return [Path(warp.from_rows(path.xy_mm), path.role) for path in paths]


def fill_area(
    area: shapely.Geometry,
    settings: RowSettings,
    *,
    entry_mm: Floats,
    exit_mm: Floats | None = None,
) -> list[Path]:
    """Return the stitches that fill an area, one path for each group of cells that hang together.

    Parameters
    ----------
    area : shapely.Polygon or shapely.MultiPolygon
    settings : RowSettings
    entry_mm : (2,) float64 [mm]
        Where the needle comes from.
    exit_mm : (2,) float64 [mm] or None
        Where it goes next.
    """
    grid = cut_into_rows(
        area,
        angle_rad=settings.angle_rad,
        spacing_mm=settings.spacing_mm,
        edge_mm=settings.edge_mm,
    )
    frame = -settings.angle_rad
    here = turn_points(entry_mm[None], frame)[0]
    goal = None if exit_mm is None else turn_points(exit_mm[None], frame)[0]
    paths = []
    for group in _cell_groups(grid, here):
        walk = CellWalk(grid, settings, group, here)
        path = walk.sew(goal)
        here = path.end
        paths.append(Path(turn_points(path.xy_mm, settings.angle_rad), path.role))
    return paths


def _cell_groups(grid: RowGrid, here: Floats) -> list[list[int]]:
    """Return the connected groups of cells, nearest next and the largest last.

    The way from one group to the next lies on whatever is sewn: it must be covered by the largest.
    """
    neighbours: list[list[int]] = [[] for _ in grid.cells]
    for a, b in grid.cell[grid.links]:
        neighbours[a].append(int(b))
        neighbours[b].append(int(a))
    seen = [False] * len(grid.cells)
    groups = []
    for first in range(len(grid.cells)):
        if seen[first]:
            continue
        seen[first] = True
        group, todo = [], [first]
        while todo:
            cell = todo.pop()
            group.append(cell)
            for other in neighbours[cell]:
                if not seen[other]:
                    seen[other] = True
                    todo.append(other)
        groups.append(sorted(group))
    return _nearest_first(grid, groups, here)


def _nearest_first(grid: RowGrid, groups: list[list[int]], here: Floats) -> list[list[int]]:
    middles = []
    for group in groups:
        spans = np.concatenate([grid.cells[c] for c in group])
        middles.append(
            [float(np.mean(grid.left_mm[spans] + grid.right_mm[spans]) / 2),
             float(np.mean(grid.y_mm[spans]))]
        )  # fmt: skip
    places = np.array(middles).reshape(-1, 2)
    sizes = [sum(len(grid.cells[c]) for c in group) for group in groups]
    largest = int(np.argmax(sizes))
    order, left = [], [k for k in range(len(groups)) if k != largest]
    while left:
        gaps = np.hypot(*(places[left] - here).T)
        k = left.pop(int(np.argmin(gaps)))
        order.append(groups[k])
        here = places[k]
    return [*order, groups[largest]]
