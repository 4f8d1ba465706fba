"""What the property tests draw: polygons, region maps, and the set-ups to plan them on."""

import numpy as np
import shapely
from hypothesis import assume, reject
from hypothesis import strategies as st

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.region import ColorMatch, Region, RegionMap

CARDS = CardDrawer()


def setup_on(garment="tee-white"):
    """Return a shipped set-up."""
    return CARDS.setup(garment)


@st.composite
def polygons(draw, *, largest_mm=15.0):
    """Draw a star-shaped polygon, perhaps with holes, a few millimetres to a few centimetres."""
    n = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(0.8, largest_mm), min_size=n, max_size=n))
    angles = 2 * np.pi * np.arange(n) / n
    shape = shapely.Polygon(
        [(r * np.cos(a), r * np.sin(a)) for r, a in zip(radii, angles, strict=True)]
    ).buffer(0)
    for x, y, r in draw(
        st.lists(st.tuples(st.floats(-6, 6), st.floats(-6, 6), st.floats(0.3, 3)), max_size=3)
    ):
        shape = shape.difference(shapely.Point(x, y).buffer(r))
    shape = max(shapely.get_parts(shape), key=lambda p: p.area, default=shape)
    assume(shape.geom_type == "Polygon" and shape.area > 1.0)
    return shape


def make_map(shapes, *, threads=None, garment="tee-white"):
    """Return a region map of given polygons; overlaps go to the later one, all are centred."""
    colors = setup_on(garment).thread.colors
    threads = list(range(len(shapes))) if threads is None else threads
    parts = []
    taken = shapely.Polygon()
    for shape, thread in reversed(list(zip(shapes, threads, strict=True))):
        parts += [(p, thread) for p in shapely.get_parts(shape.difference(taken))
                  if p.geom_type == "Polygon" and p.area > 1e-3]  # fmt: skip
        taken = taken.union(shape)
    parts.reverse()
    parts = [(p, t) for p, t in parts if p.is_valid]
    x0, y0, x1, y1 = shapely.total_bounds([p for p, _ in parts])
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    centred = [(shapely.transform(p, lambda xy: xy - middle), t) for p, t in parts]
    regions = tuple(Region(k, p, t) for k, (p, t) in enumerate(centred))
    used = max(t for _, t in parts) + 1
    matches = tuple(ColorMatch(colors[k].rgb, colors[k], 0.0) for k in range(used))
    return RegionMap(regions, matches, x1 - x0, y1 - y0)


@st.composite
def region_maps(draw):
    """Draw a map of one to four overlapping areas of one to three threads."""
    shapes = []
    for shape in draw(st.lists(polygons(), min_size=1, max_size=4)):
        dx, dy = draw(st.tuples(st.floats(-12, 12), st.floats(-12, 12)))
        shapes.append(shapely.transform(shape, lambda xy, d=(dx, dy): xy + np.array(d)))
    threads = draw(
        st.lists(st.integers(0, 2), min_size=len(shapes), max_size=len(shapes))
    )  # fmt: skip
    try:
        return make_map(shapes, threads=threads)
    except ValueError:  # a sliver that no longer encloses anything once it is moved
        reject()
