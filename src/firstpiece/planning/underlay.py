"""Stitches laid first, under the cover: runs inside the rim and a wide lattice across the rows.

Input: an area and its recipe. Output: paths that keep clear of the rim by more than the thread.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.polyline import run_along
from firstpiece.model.stitch import Role, Underlay
from firstpiece.planning.cell_walk import RowSettings
from firstpiece.planning.fill import fill_area
from firstpiece.planning.path import Path, make_path

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.planning.recipe import Recipe

    Floats = NDArray[np.float64]

# Common practice, no source: edge run 0.4 to 0.6 mm inside, lattice rows 2 to 3 mm apart.
EDGE_INSET_MM = 0.6
LATTICE_INSET_MM = 0.9
LATTICE_SPACING_MM = 2.6
STEP_MM = 2.5


def fill_underlay(polygon: shapely.Polygon, recipe: Recipe, entry_mm: Floats) -> list[Path]:
    """Return the underlay of a fill, in sewing order, beginning near the entry."""
    paths: list[Path] = []
    here = entry_mm
    if Underlay.EDGE_RUN in recipe.underlay and not recipe.feather_mm:
        paths += edge_runs(polygon, here)
        here = paths[-1].end if paths else here
    if Underlay.LATTICE in recipe.underlay:
        inner = polygon.buffer(-LATTICE_INSET_MM - recipe.feather_mm)
        if not inner.is_empty:
            settings = RowSettings(
                angle_rad=recipe.angle_rad + math.pi / 2,
                spacing_mm=LATTICE_SPACING_MM,
                length_mm=recipe.length_mm,
                edge_mm=LATTICE_SPACING_MM / 2,
                role=Role.UNDERLAY,
            )
            paths += fill_area(inner, settings, entry_mm=here)
    return paths


def edge_runs(polygon: shapely.Polygon, entry_mm: Floats) -> list[Path]:
    """Return closed runs inside each rim, nearest next."""
    inner = polygon.buffer(-EDGE_INSET_MM)
    rings = [
        np.asarray(r.coords)
        for r in shapely.get_rings(shapely.get_parts(inner))
        if r.length > 2 * STEP_MM
    ]
    paths = []
    here = entry_mm
    while rings:
        gaps = [float(np.hypot(*(ring - here).T).min()) for ring in rings]
        ring = rings.pop(int(np.argmin(gaps)))
        first = int(np.argmin(np.hypot(*(ring[:-1] - here).T)))
        turned = np.vstack([ring[first:-1], ring[: first + 1]])
        paths.append(make_path(run_along(turned, STEP_MM), Role.UNDERLAY))
        here = turned[-1]
    return paths
