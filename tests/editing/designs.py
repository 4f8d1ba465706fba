"""Designs to edit: random patchworks, and plain shapes with known answers."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st

from firstpiece.editing.patchwork import centred, on_grid
from firstpiece.model.material import ThreadColor
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap

COLORS = {"red": (200, 30, 30), "green": (30, 140, 60), "blue": (30, 60, 170), "white": (250,) * 3}
RACK = tuple(ThreadColor(name=name, rgb=rgb, tex=26.7) for name, rgb in COLORS.items())


def design(*areas: tuple[shapely.Polygon, str | None]) -> RegionMap:
    """Return the design of disjoint areas, each in a thread of the rack or bare (None)."""
    names = list(COLORS)
    matches = tuple(ColorMatch(thread.rgb, thread, 0.0) for thread in RACK)
    regions = tuple(
        Region(i, polygon, BARE if name is None else names.index(name))
        for i, (polygon, name) in enumerate(areas)
    )
    return centred(RegionMap(regions, matches, 0.0, 0.0))


def faults(region_map: RegionMap) -> list[str]:
    """Return every way a design is no exact partition, told independently of the editor.

    Shapely's coverage check finds overlaps, gaps and edges that do not match vertex by vertex;
    holes of the union that no area fills are gaps too.
    """
    polygons = np.empty(len(region_map.regions), dtype=object)
    polygons[:] = [region.polygon for region in region_map.regions]
    found = []
    if not shapely.is_valid(polygons).all():
        found.append("an area is not valid")
    if not shapely.coverage_is_valid(polygons):
        found.append("edges do not match")
    union = shapely.coverage_union_all(polygons)
    if abs(union.area - shapely.area(polygons).sum()) > 1e-6:
        found.append("areas overlap")
    holes = [ring for part in shapely.get_parts(union) for ring in part.interiors]
    found += ["a hole is no area" for ring in holes if shapely.Polygon(ring).area > 1e-6]
    return found


@st.composite
def patchworks(draw: st.DrawFn) -> RegionMap:
    """Draw a design of three to eight cells that fill a plate, some of them bare."""
    seed = draw(st.integers(0, 2**31 - 1))
    rng = np.random.default_rng(seed)
    n = draw(st.integers(3, 8))
    points = shapely.MultiPoint(rng.uniform([0, 0], [40, 30], size=(n, 2)))
    plate = shapely.box(0, 0, 40, 30)
    if draw(st.booleans()):
        plate = shapely.Point(20, 15).buffer(15)
    cells = shapely.get_parts(shapely.voronoi_polygons(points, extend_to=plate))
    cut = [shapely.set_precision(shapely.intersection(c, plate), 1e-4) for c in cells]
    noded = shapely.union_all([c.boundary for c in cut if c.area > 0], grid_size=1e-4)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    kept = [f for f in faces if f.area > 0.5]
    names = [draw(st.sampled_from([*COLORS, *COLORS, None])) for _ in kept]
    if all(name is None for name in names):
        names[0] = "red"
    shapes = [shapely.transform(f, on_grid) for f in kept]
    return design(*zip(shapes, names, strict=True))


def square(x: float, y: float, width: float, height: float | None = None) -> shapely.Polygon:
    """Return a rectangle by its lower left corner and size."""
    return shapely.box(x, y, x + width, y + (height or width))
