"""Strips tile a shape: nothing left out, little sewn twice, and the axis counts their number."""

import itertools

import numpy as np
import pytest
import shapely

from firstpiece.geometry.axis_chains import find_chains, find_junctions
from firstpiece.geometry.chord_graph import chord_graph
from firstpiece.geometry.strip_corners import cut_at_corners
from firstpiece.geometry.strip_ends import blob_ladder, extended_ladder
from firstpiece.geometry.strips import EndKind, find_strips

bar = shapely.box
SHAPES = {
    "bar": bar(0, 0, 12, 2),
    "T": shapely.union_all([bar(-5, 8, 5, 10), bar(-1, 0, 1, 9)]),
    "plus": shapely.union_all([bar(-6, -1, 6, 1), bar(-1, -6, 1, 6)]),
    "L": shapely.union_all([bar(0, 0, 2, 10), bar(0, 0, 8, 2)]),
    "slab serif": shapely.union_all([bar(-3, 0, 3, 0.9), bar(-1.4, 0, 1.4, 9)]),
    "ring": shapely.Point(0, 0).buffer(6) - shapely.Point(0, 0).buffer(4.5),
    "wheel": shapely.union_all(
        [shapely.Point(0, 0).buffer(8) - shapely.Point(0, 0).buffer(6.5), bar(-7, -0.7, 7, 0.7)]
    ),
    "comb": shapely.union_all([bar(0, 0, 20, 1.5), *[bar(x, 0, x + 1, 8) for x in (3, 8, 13)]]),
}


def pieces(shape):
    return [p for s in find_strips(chord_graph(shape)) for p in cut_at_corners(s)]


def area_of(strip):
    ladder = extended_ladder(strip, overlap_mm=0.0)
    quads = [
        shapely.Polygon([a[0], b[0], b[1], a[1]]).convex_hull for a, b in itertools.pairwise(ladder)
    ]
    return shapely.union_all([q for q in quads if q.area > 1e-9])


@pytest.mark.parametrize("name", SHAPES)
def test_strips_cover_the_shape_and_hardly_overlap(name):
    shape = SHAPES[name]
    areas = [area_of(s) for s in pieces(shape)]
    assert shape.difference(shapely.union_all(areas).buffer(1e-3)).area < 0.01 * shape.area
    assert sum(a.area for a in areas) < 1.03 * shape.area


@pytest.mark.parametrize(
    ("name", "count"),
    [("bar", 1), ("T", 2), ("plus", 3), ("L", 2), ("slab serif", 2), ("ring", 1), ("wheel", 2)],
)
def test_number_of_strips(name, count):
    assert len(pieces(SHAPES[name])) == count


def test_a_branch_ends_at_the_corners_of_its_mouth():
    # The stem of a slab serif must reach the slab's lower edge, not stop a stem's width below.
    strips = pieces(SHAPES["slab serif"])
    stem = next(s for s in strips if EndKind.BUTT in (s.start.kind, s.end.kind))
    end = stem.end if stem.end.kind is EndKind.BUTT else stem.start
    np.testing.assert_allclose(np.sort(end.border_mm[:, 0]), [-1.4, 1.4], atol=0.01)
    np.testing.assert_allclose(end.border_mm[:, 1], 0.9, atol=0.05)


def test_a_corner_is_cut_from_the_inner_to_the_outer_corner():
    strips = pieces(SHAPES["L"])
    cuts = [e.border_mm for s in strips for e in (s.start, s.end) if e.kind is EndKind.MITRE]
    assert len(cuts) == 2
    for cut in cuts:
        ends = cut[np.argsort(cut[:, 0])]
        np.testing.assert_allclose(ends, [[0, 0], [2, 2]], atol=0.1)


def test_junctions_list_their_arms_anticlockwise():
    graph = chord_graph(SHAPES["plus"])
    chains = find_chains(graph)
    (joint,) = find_junctions(graph, chains)
    assert len(joint.arms) == 4
    far = []
    for i, end in joint.arms:
        path = chains[i].path
        far.append(graph.centres_mm[path[-1] if end == 0 else path[0]] - joint.centre_mm)
    angle = np.unwrap([np.arctan2(y, x) for x, y in far])
    np.testing.assert_allclose(np.diff(angle), np.pi / 2, atol=0.2)


def test_stubs_are_no_strips():
    bumpy = shapely.union_all([bar(0, 0, 12, 2), bar(5, 2, 5.6, 2.2)])
    assert len(pieces(bumpy)) == 1


def test_a_dot_has_no_strip_but_a_ladder():
    dot = shapely.Point(0, 0).buffer(1.5, quad_segs=32)
    assert pieces(dot) == []
    ladder = blob_ladder(dot)
    # Rungs lie square to the way on and reach from edge to edge: x^2 + y^2 = r^2.
    np.testing.assert_allclose(ladder[:, 0, 1], ladder[:, 1, 1], atol=1e-9)
    np.testing.assert_allclose(np.hypot(*ladder[:, 1].T), 1.5, atol=0.01)
