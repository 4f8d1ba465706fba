"""Large designs in several hoopings, and several pieces in one hoop."""

import itertools

import numpy as np
import pytest
import shapely
from tests.properties.strategies import setup_on

from firstpiece.errors import InputError
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.lettering.set_text import set_text
from firstpiece.model.hooping import clearance_mm
from firstpiece.model.material import Hoop, ThreadColor
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, StitchType
from firstpiece.planning.gang import gang_pieces, patch_outline
from firstpiece.planning.hoop_marks import with_marks
from firstpiece.planning.hoop_split import field_of, split_hoopings
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.letter import letter_map

RED, BLUE = ThreadColor("poppy", (212, 42, 36), 26.7), ThreadColor("ink", (20, 30, 90), 26.7)
SETUP = setup_on("tee-white")
HOOP = Hoop("test", "Test, 120 × 120 mm", 120.0, 120.0, 8.0)


def design(shapes, colors=None):
    x0, y0, x1, y1 = shapely.total_bounds(shapes)
    moved = [shapely.transform(s, lambda xy: xy - [(x0 + x1) / 2, (y0 + y1) / 2]) for s in shapes]
    colors = colors or [0] * len(shapes)
    regions = tuple(Region(k, s, c) for k, (s, c) in enumerate(zip(moved, colors, strict=True)))
    matches = (ColorMatch(RED.rgb, RED, 0.0), ColorMatch(BLUE.rgb, BLUE, 0.0))
    return RegionMap(regions, matches, x1 - x0, y1 - y0)


def in_design(hooping):
    return [
        shapely.transform(r.polygon, lambda xy: xy + np.array(hooping.centre_mm))
        for r in hooping.region_map.regions
    ]


def test_a_design_that_fits_is_one_hooping_without_marks():
    (only,) = split_hoopings(design([shapely.box(0, 0, 80, 60)]), HOOP)
    assert only.follows == 0
    assert len(only.marks_mm) == 0


def test_a_line_goes_between_areas_and_nothing_is_cut():
    blocks = [shapely.box(50 * k, 0, 50 * k + 40, 60) for k in range(4)]
    found = split_hoopings(design(blocks), HOOP)
    assert len(found) == 2
    assert all(h.cut_mm == 0 for h in found)
    assert sorted(r.id for h in found for r in h.region_map.regions) == [0, 1, 2, 3]


def test_a_plate_is_cut_where_it_is_narrowest():
    plate = shapely.union_all(
        [shapely.box(0, 0, 70, 60), shapely.box(70, 25, 90, 35), shapely.box(90, 0, 160, 60)]
    )
    found = split_hoopings(design([plate]), HOOP)
    assert len(found) == 2
    assert found[1].cut_mm == pytest.approx(10.0)
    whole = shapely.union_all([p for h in found for p in in_design(h)])
    assert whole.symmetric_difference(design([plate]).regions[0].polygon).area < 0.01


@pytest.mark.parametrize("size", [(150, 90), (260, 200), (90, 330)])
def test_hoopings_hold_everything_and_each_clears_its_hoop(size):
    generator = np.random.default_rng(4)
    spots = [
        shapely.Point(x, y).buffer(generator.uniform(4, 14))
        for x in range(15, size[0], 30)
        for y in range(15, size[1], 30)
    ]
    whole = design(spots)
    found = split_hoopings(whole, HOOP)
    assert sorted({r.id for h in found for r in h.region_map.regions}) == list(range(len(spots)))
    for hooping in found:
        bounds = shapely.total_bounds([r.polygon for r in hooping.region_map.regions])
        assert (bounds[2:] - bounds[:2] <= field_of(HOOP) + 1e-6).all()
        assert hooping.follows < hooping.number
        assert (hooping.number == 1) == (hooping.follows == 0)


def test_letters_are_never_cut():
    font = shipped_fonts()["Noto Sans Bold"]
    text = letter_map(set_text("ORCHARD", font, cap_height_mm=50.0, least_gap_mm=1.0), RED)
    found = split_hoopings(text, HOOP)
    assert len(found) >= 2
    assert all(r.letter is not None for h in found for r in h.region_map.regions)
    assert sum(len(h.region_map.regions) for h in found) == len(text.regions)
    assert all(h.cut_mm == 0 for h in found)
    huge = letter_map(set_text("O", font, cap_height_mm=200.0), RED)
    with pytest.raises(InputError, match="letter is larger"):
        split_hoopings(huge, HOOP)


def test_marks_lie_in_both_hoops_far_apart_and_the_needle_stops_over_them():
    blocks = [shapely.box(45 * k, 0, 45 * k + 40, 60) for k in range(4)]
    first, second = split_hoopings(design(blocks), HOOP)
    marks = second.marks_mm
    assert np.hypot(*(marks[1] - marks[0])) >= 40
    plans = []
    for hooping, laid_on, sewn in ((first, marks[:0], marks), (second, marks, marks[:0])):
        centre = np.array(hooping.centre_mm)
        plan = plan_stitches(hooping.region_map, setup=SETUP)
        made = with_marks(plan, laid_on=laid_on - centre, sewn=sewn - centre, machine=SETUP.machine)
        assert clearance_mm(made, HOOP) >= HOOP.margin_mm
        assert made.n_stitches >= plan.n_stitches
        assert made.action[-1] == Action.END
        plans.append(made)
    assert plans[0].count(Action.STOP) == 0
    stops = plans[1].xy_mm[plans[1].action == Action.STOP] + np.array(second.centre_mm)
    np.testing.assert_allclose(stops, marks, atol=0.011)
    # Every jump of both keeps the machine's limit.
    for plan in plans:
        steps = np.hypot(*np.diff(plan.xy_mm, axis=0).T)
        assert steps[plan.action[1:] == Action.JUMP].max() <= SETUP.machine.longest_jump_mm


def test_a_hoop_full_of_patches_needs_the_thread_changes_of_one():
    art = design([shapely.box(0, 0, 20, 20), shapely.Point(10, 32).buffer(6)], [0, 1])
    one = gang_pieces(art, HOOP, border=BLUE, n_pieces=1)
    full = gang_pieces(art, HOOP, border=BLUE)
    assert full.n_fits == len(full.centres_mm) == 2
    plans = [plan_stitches(g.region_map, setup=SETUP, specs=g.specs) for g in (one, full)]
    changes = [p.count(Action.COLOR_CHANGE) for p in plans]
    assert changes[0] == changes[1]
    kinds = {t.region_id: t.stitch_type for t in plans[1].treatments}
    borders = [kinds[k] for k, s in full.specs.items() if s.stitch_type is StitchType.SATIN]
    assert borders == [StitchType.SATIN] * 2
    assert clearance_mm(plans[1], HOOP) >= HOOP.margin_mm


def test_patches_stand_apart_and_their_outline_holds_the_art():
    art = design([shapely.box(0, 0, 20, 20)])
    assert patch_outline(art).contains(art.regions[0].polygon)
    gang = gang_pieces(art, HOOP, border=RED, border_mm=4.0)
    size = len(gang.region_map.regions) // len(gang.centres_mm)
    pieces = [
        shapely.union_all([r.polygon for r in gang.region_map.regions[k * size : (k + 1) * size]])
        for k in range(len(gang.centres_mm))
    ]
    assert all(a.distance(b) >= 4.99 for a, b in itertools.combinations(pieces, 2))


@pytest.mark.parametrize("wish", [{"border_mm": 1.0}, {"border_mm": 9.0}, {"n_pieces": 99}])
def test_what_a_hoop_cannot_hold_is_refused(wish):
    with pytest.raises(InputError):
        gang_pieces(design([shapely.box(0, 0, 20, 20)]), HOOP, border=RED, **wish)
