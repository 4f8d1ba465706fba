"""Tracing as a whole: areas against plain geometry, the map's form, and what is refused."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.tracing.art import (
    BLACK,
    BLUE,
    BROWN,
    CREAM,
    GOLD,
    GREEN,
    RACK,
    RED,
    WHITE,
    areas_by_thread,
    circle,
    paint,
    pixels_art,
    roughen,
    shapes_art,
    trace,
)  # fmt: skip

from firstpiece.errors import LengthError, PictureError
from firstpiece.model.frozen import content_hash
from firstpiece.model.region import TraceOptions
from firstpiece.tracing.stage import trace_artwork

HILL = shapely.box(50, 400, 550, 560)
CROWN = circle(300, 250, 180)
APPLES = shapely.union_all([circle(x, y, 22) for x, y in ((220, 200), (360, 220), (300, 320))])
TRUNK = shapely.box(275, 420, 325, 520)
TREE = ((HILL, GOLD), (TRUNK, BROWN), (CROWN, GREEN), (APPLES, RED))
# Painted box of the tree: from the crown's top to the hill's foot.
TREE_HEIGHT = 560 - 70


def tree_areas(height_mm):
    """mm² that is seen of each colour of the tree."""
    scale = (height_mm / TREE_HEIGHT) ** 2
    seen = {}
    above = shapely.Polygon()
    for shape, rgb in reversed(TREE):
        seen[rgb] = shapely.difference(shape, above).area * scale
        above = shapely.union(above, shape)
    return seen


def assert_tree(region_map, height_mm, *, rel):
    expected = tree_areas(height_mm)
    found = dict.fromkeys(expected, 0.0)
    for region in region_map.sewn_regions:
        art = np.array(region_map.matches[region.color_index].art_rgb)
        nearest = min(found, key=lambda rgb: np.abs(art - rgb).sum())
        assert np.abs(art - nearest).max() <= 14
        found[nearest] += region.polygon.area
    for rgb, area in expected.items():
        assert found[rgb] == pytest.approx(area, rel=rel), rgb
    assert len(region_map.matches) == len(expected)


@pytest.mark.parametrize("height_mm", [60.0, 120.0, 250.0])
def test_a_drawing_keeps_every_area(height_mm):
    region_map = trace(shapes_art(*TREE, size=(600, 600)), height_mm)
    assert_tree(region_map, height_mm, rel=1e-3)
    assert region_map.height_mm == height_mm
    assert region_map.width_mm == pytest.approx(500 * height_mm / TREE_HEIGHT, abs=2e-3)
    assert len(region_map.regions) == 6


@pytest.mark.parametrize("height_mm", [60.0, 120.0, 250.0])
def test_a_clean_picture_keeps_every_area(height_mm):
    region_map = trace(pixels_art(paint((600, 600), *TREE)), height_mm)
    assert_tree(region_map, height_mm, rel=0.012)


def test_a_rough_jpeg_keeps_every_area_and_adds_no_rims():
    region_map = trace(pixels_art(roughen(paint((600, 600), *TREE))), 100.0)
    assert_tree(region_map, 100.0, rel=0.03)
    assert len(region_map.regions) <= 8


def test_a_small_picture_is_traced_smoothly():
    disc = trace(pixels_art(paint((90, 90), (circle(45, 45, 35), BLUE))), 100.0)
    (region,) = disc.regions
    assert region.polygon.area == pytest.approx(np.pi * 50.0**2, rel=0.01)
    radii = np.hypot(*shapely.get_coordinates(region.polygon).T)
    # A pixel is 1.4 mm wide here: edges that follow its sides would stray by 0.7 mm.
    assert np.abs(radii - 50.0).max() < 0.45


def test_a_large_picture_is_made_smaller_first():
    disc = trace(pixels_art(paint((3000, 3000), (circle(1500, 1500, 1200), BLUE))), 100.0)
    assert disc.regions[0].polygon.area == pytest.approx(np.pi * 50.0**2, rel=2e-3)


def test_corners_stay_sharp():
    square = trace(pixels_art(paint((500, 500), (shapely.box(100, 100, 400, 400), RED))), 60.0)
    (region,) = square.regions
    corners = shapely.MultiPoint([(x, y) for x in (-30, 30) for y in (-30, 30)])
    assert max(p.distance(region.polygon.exterior) for p in corners.geoms) < 0.15
    assert region.polygon.area == pytest.approx(3600.0, rel=5e-3)
    assert len(region.polygon.exterior.coords) <= 30


def test_neighbours_share_their_edge_exactly():
    halves = ((shapely.box(50, 50, 250, 250), RED), (shapely.box(250, 50, 350, 250), BLUE))
    for art in (pixels_art(paint((400, 300), *halves)), shapes_art(*halves)):
        one, two = trace(art, 80.0).regions
        shared = one.polygon.intersection(two.polygon)
        assert shared.length == pytest.approx(80.0, abs=0.4)
        assert shared.area == 0.0


def test_large_areas_come_first_and_ids_count_up():
    regions = trace(shapes_art(*TREE, size=(600, 600))).regions
    assert [r.id for r in regions] == list(range(len(regions)))
    areas = [r.polygon.area for r in regions]
    assert areas == sorted(areas, reverse=True)


@pytest.mark.parametrize("art", ["drawing", "picture"])
def test_same_art_same_map(art):
    def make():
        clean = paint((300, 300), (circle(150, 150, 90), RED), (circle(150, 150, 40), BLUE))
        return pixels_art(roughen(clean)) if art == "picture" else shapes_art(*TREE)

    one, two = trace(make()), trace(make())
    assert content_hash(one) == content_hash(two)


# Background and bare cloth.


def test_paper_is_bare_unless_it_is_kept():
    art = pixels_art(paint((400, 300), (circle(200, 150, 100), BLUE)))
    assert set(areas_by_thread(trace(art))) == {"royal"}
    kept = areas_by_thread(trace(art, options=TraceOptions(keep_background=True)))
    assert set(kept) == {"royal", "chalk white"}
    assert sum(kept.values()) == pytest.approx(100.0 * 400 / 3, rel=1e-3)


def test_a_sheet_of_paper_below_a_drawing_is_bare_unless_it_is_kept():
    sheet = shapely.box(0, 0, 400, 300)
    art = shapes_art((sheet, WHITE), (circle(200, 150, 100), BLUE))
    assert trace(art).width_mm == pytest.approx(100.0, rel=1e-3)
    kept = trace(art, options=TraceOptions(keep_background=True))
    assert kept.width_mm == pytest.approx(400 / 3, rel=1e-3)


def test_white_paint_without_a_sheet_is_thread():
    art = shapes_art((circle(200, 150, 100), BLUE), (circle(200, 150, 50), WHITE))
    found = areas_by_thread(trace(art))
    assert found["chalk white"] == pytest.approx(np.pi * 25.0**2, rel=2e-3)


def test_a_coloured_ground_is_sewn():
    art = pixels_art(paint((400, 300), (circle(200, 150, 100), GOLD), paper=BLUE))
    assert sum(areas_by_thread(trace(art)).values()) == pytest.approx(100 * 400 / 3, rel=1e-3)


def test_transparent_pixels_are_bare_and_leave_no_rim():
    rgb = paint((300, 300), (circle(150, 150, 100), GREEN), paper=(0, 0, 0))
    alpha = paint((300, 300), (circle(150, 150, 100), WHITE), paper=(0, 0, 0))[:, :, 0]
    region_map = trace(pixels_art(rgb, alpha))
    assert len(region_map.regions) == 1
    assert region_map.regions[0].polygon.area == pytest.approx(np.pi * 50.0**2, rel=0.01)
    art = region_map.matches[0].art_rgb
    assert np.abs(np.array(art) - GREEN).max() <= 4


def test_a_hole_in_a_letter_is_bare_and_known():
    letter = shapely.difference(circle(60, 60, 30), circle(60, 60, 14))
    wide = shapely.box(150, 40, 380, 260)
    region_map = trace(pixels_art(paint((400, 300), (letter, BLACK), (wide, BLACK))))
    bare = [r for r in region_map.regions if r.is_bare]
    assert [r.polygon.area for r in bare] == [
        pytest.approx(np.pi * 14.0**2 * (100 / 230) ** 2, rel=0.05)
    ]


def test_white_paint_inside_a_sign_is_thread_and_told():
    arrow = shapely.Polygon([(100, 150), (200, 70), (200, 120), (300, 120), (300, 180),
                             (200, 180), (200, 230)])  # fmt: skip
    sign = shapely.box(20, 20, 380, 280)
    region_map = trace(pixels_art(paint((400, 300), (sign, BLUE), (arrow, WHITE))))
    assert areas_by_thread(region_map)["chalk white"] == pytest.approx(
        arrow.area * (100 / 260) ** 2, rel=0.02
    )
    assert "white-kept" in [f.code for f in region_map.findings]


def test_a_person_can_make_a_colour_bare():
    options = TraceOptions(bare_colors=((250, 180, 40),))
    for art in (pixels_art(paint((600, 600), *TREE)), shapes_art(*TREE, size=(600, 600))):
        names = set(areas_by_thread(trace(art, options=options)))
        assert len(names) == 3
        assert "sunflower" not in names


def test_making_white_bare_leaves_art_without_white_alone():
    options = TraceOptions(bare_colors=((255, 255, 255),))
    for art in (pixels_art(paint((600, 600), *TREE)), shapes_art(*TREE, size=(600, 600))):
        assert areas_by_thread(trace(art, options=options)) == areas_by_thread(trace(art))


@pytest.mark.parametrize("wanted", [1, 2, 3])
def test_a_person_can_choose_the_number_of_colours(wanted):
    options = TraceOptions(n_colors=wanted)
    for art in (pixels_art(paint((600, 600), *TREE)), shapes_art(*TREE, size=(600, 600))):
        region_map = trace(art, options=options)
        assert len(region_map.matches) == wanted
        assert "colors-merged" in [f.code for f in region_map.findings]


# Cleaning.


def test_specks_are_dropped_and_lines_are_kept():
    speck = shapely.box(200, 150, 201, 151)
    hairline = shapely.box(120, 150, 180, 151)
    art = shapes_art((shapely.box(100, 50, 300, 250), GOLD), (speck, RED), (hairline, BLUE))
    region_map = trace(art, 60.0)
    assert set(areas_by_thread(region_map)) == {"sunflower", "royal"}
    assert [f.measured for f in region_map.findings if f.code == "specks-dropped"] == [1.0]
    larger = trace(art, 240.0)
    assert "poppy" in areas_by_thread(larger)


def test_slips_between_shapes_close():
    left, right = shapely.box(50, 50, 199.9, 250), shapely.box(200.1, 50, 350, 250)
    region_map = trace(shapes_art((left, RED), (right, BLUE)), 80.0)
    assert len(region_map.regions) == 2
    one, two = (r.polygon for r in region_map.regions)
    assert one.intersection(two).length == pytest.approx(80.0, abs=0.01)


def test_colours_that_look_alike_are_one():
    near = (204, 42, 40)
    art = shapes_art((shapely.box(50, 50, 200, 250), RED), (shapely.box(200, 50, 350, 250), near))
    region_map = trace(art)
    assert len(region_map.regions) == 1
    assert region_map.matches[0].art_rgb in (RED, near)


def test_many_colours_become_few():
    strips = [
        (shapely.box(10 * k, 0, 10 * k + 10, 100), (255 - 8 * k, 8 * k, 100)) for k in range(30)
    ]
    region_map = trace(shapes_art(*strips))
    assert 2 <= len(region_map.matches) <= 14
    assert "colors-merged" in [f.code for f in region_map.findings]


def test_one_thread_for_two_colours_is_told():
    art = shapes_art((shapely.box(0, 0, 200, 300), (210, 40, 30)),
                     (shapely.box(200, 0, 400, 300), (226, 62, 52)))  # fmt: skip
    region_map = trace_with_few_threads(art)
    assert "thread-shared" in [f.code for f in region_map.findings]


def trace_with_few_threads(art):
    rack = tuple(t for t in RACK if t.name in ("poppy", "navy"))
    return trace_artwork(art, height_mm=50.0, rack=rack)


def test_a_thread_far_from_the_art_is_told():
    art = shapes_art((circle(200, 150, 100), GREEN))
    (note,) = trace_with_few_threads(art).findings
    assert note.code == "thread-far"
    assert note.measured > note.limit


@pytest.mark.slow
def test_a_thousand_shapes():
    rng = np.random.Generator(np.random.PCG64(11))
    places = rng.uniform(20, 380, (1000, 2))
    palette = (RED, GREEN, BLUE, GOLD, BROWN)
    layers = [
        (circle(x, y, r), palette[k % 5])
        for k, ((x, y), r) in enumerate(zip(places, rng.uniform(2, 15, 1000), strict=True))
    ]
    region_map = trace(shapes_art(*layers, size=(400, 400)), 200.0)
    union = shapely.union_all([shape for shape, _ in layers])
    _, y0, _, y1 = union.bounds
    sewn = sum(r.polygon.area for r in region_map.sewn_regions)
    assert sewn == pytest.approx(union.area * (200.0 / (y1 - y0)) ** 2, rel=5e-3)


# Properties.

DISCS = st.lists(
    st.tuples(
        st.integers(40, 160), st.integers(40, 160), st.integers(8, 38),
        st.sampled_from([RED, GREEN, BLUE, GOLD, CREAM]),
    ),
    min_size=1,
    max_size=6,
)  # fmt: skip


def layers_of(discs):
    return [(circle(x, y, r), rgb) for x, y, r, rgb in discs]


@given(DISCS)
@settings(max_examples=25)
def test_drawn_areas_add_up_to_what_is_painted(discs):
    layers = layers_of(discs)
    union = shapely.union_all([shape for shape, _ in layers])
    _, y0, _, y1 = union.bounds
    region_map = trace(shapes_art(*layers, size=(200, 200)), 100.0)
    sewn = sum(r.polygon.area for r in region_map.sewn_regions)
    assert sewn == pytest.approx(union.area * (100.0 / (y1 - y0)) ** 2, rel=0.01)


@given(DISCS, st.sampled_from([40.0, 77.7, 300.0]))
@settings(max_examples=15)
def test_a_drawing_scales_with_its_height(discs, height_mm):
    art = shapes_art(*layers_of(discs), size=(200, 200))
    small = areas_by_thread(trace(art, 150.0))
    large = areas_by_thread(trace(art, height_mm))
    for name, area in small.items():
        scaled = area * (height_mm / 150.0) ** 2
        assert large.get(name, 0.0) == pytest.approx(scaled, rel=0.02, abs=1.5)


@pytest.mark.slow
@given(DISCS)
@settings(max_examples=6)
def test_a_picture_carries_the_map_along_when_it_moves_or_turns(discs):
    canvas = paint((200, 200), *layers_of(discs))
    plain = trace(pixels_art(canvas), 100.0)
    moved = trace(pixels_art(np.roll(canvas, (1, 1), axis=(0, 1))), 100.0)
    turned = trace(pixels_art(np.ascontiguousarray(np.rot90(canvas))), plain.width_mm)
    size = plain.width_mm * plain.height_mm
    one = shapely.union_all([r.polygon for r in plain.sewn_regions])
    two = shapely.union_all([r.polygon for r in moved.sewn_regions])
    three = shapely.union_all([r.polygon for r in turned.sewn_regions])
    back = shapely.transform(three, lambda xy: np.column_stack([xy[:, 1], -xy[:, 0]]))
    assert one.symmetric_difference(two).area < 0.02 * size
    assert one.symmetric_difference(back).area < 0.03 * size


# What is refused.


def photograph():
    """Smooth noise at many scales, as natural pictures have (power falling with frequency)."""
    rng = np.random.Generator(np.random.PCG64(5))
    f = np.fft.fftfreq(500)
    weight = 1.0 / np.maximum(np.hypot(*np.meshgrid(f, f)), 1 / 500) ** 1.1
    planes = [
        np.fft.ifft2(weight * np.fft.fft2(rng.standard_normal((500, 500)))).real for _ in range(3)
    ]
    planes = [(p - p.min()) / np.ptp(p) for p in planes]
    return (np.dstack(planes) * 255).astype(np.uint8)


CLEAR = np.zeros((50, 50), dtype=np.uint8)
PLAIN = np.full((50, 50, 3), 255, dtype=np.uint8)
REFUSED = {
    "transparent": (pixels_art(PLAIN, CLEAR), "transparent all over"),
    "white": (pixels_art(PLAIN), "nothing is painted"),
    "one colour": (pixels_art(PLAIN // 2), "one colour fills"),
    "one pixel": (pixels_art(PLAIN[:1, :1]), "nothing is painted"),
    "photograph": (pixels_art(photograph()), "photograph"),
    "white sheet": (shapes_art((shapely.box(0, 0, 400, 300), WHITE)), "nothing is painted"),
    "red sheet": (shapes_art((shapely.box(0, 0, 400, 300), RED)), "one colour fills"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_art_that_cannot_be_sewn_is_refused(case):
    art, words = REFUSED[case]
    with pytest.raises(PictureError, match=words) as caught:
        trace(art)
    assert caught.value.where == art.name
    assert caught.value.remedy


@pytest.mark.parametrize("height_mm", [0.0, -5.0, 4.9, 1000.1, 1e9, float("nan")])
def test_absurd_heights_are_refused(height_mm):
    with pytest.raises(LengthError, match="out of range"):
        trace(shapes_art((circle(200, 150, 100), RED)), height_mm)


@pytest.mark.parametrize("height_mm", [5.0, 1000.0])
def test_the_ends_of_the_range_work(height_mm):
    for art in (pixels_art(paint((400, 300), (circle(200, 150, 100), RED))),
                shapes_art((circle(200, 150, 100), RED))):  # fmt: skip
        assert trace(art, height_mm).height_mm == height_mm
