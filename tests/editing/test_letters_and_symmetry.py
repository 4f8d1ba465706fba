"""Rows of letters found and straightened; symmetry found and made exact; sizes that can be sewn."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from tests.editing.designs import RACK, design, faults, square

from firstpiece.editing.letters_found import find_letters, heights_above
from firstpiece.editing.means import EditMeans
from firstpiece.editing.sewable_size import find_sewable_sizes
from firstpiece.editing.stage import carry_out
from firstpiece.editing.symmetry import find_symmetries
from firstpiece.editing.texts import letter_areas
from firstpiece.errors import EditError
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.lettering.set_text import set_text
from firstpiece.model.edit import AreaRef, MakeEven, StraightenLetters
from firstpiece.model.lettering import ArcBaseline, StraightBaseline
from firstpiece.model.sewable import WayOut, sewable_object

MEANS = EditMeans(RACK)
FONT = shipped_fonts()["Noto Sans Bold"]


def lettered(text: str, path=None, *, shake_mm: float = 0.0, others=()):
    """Return a design with text in red whose letters stand up to ``shake_mm`` off their line."""
    line = set_text(text, FONT, cap_height_mm=10.0, spacing_mm=0.6, path=path)
    rng = np.random.default_rng(7)
    shapes = []
    for shape, place in letter_areas(line):
        # Parts of one letter move together.
        up = np.random.default_rng(100 + place.order).uniform(-shake_mm, shake_mm)
        size = 1.0 + 0.04 * shake_mm * rng.uniform(-1, 1)
        moved = affinity.scale(shape, size, size, origin=place.origin_mm)
        shapes.append((affinity.translate(moved, 0.0, up), "red"))
    return design(*others, *shapes)


def read(region_map, row):
    """Return each found letter's middle from left to right, to compare with the order told."""
    return [region_map.region(letter[0]).polygon.centroid.x for letter in row.letters]


def test_a_row_of_capitals_is_found_in_reading_order():
    made = lettered("ORCHARD", others=((square(-5, 20, 12), "green"), (square(20, 20, 6), "red")))
    (row,) = find_letters(made)
    assert len(row.letters) == 7
    middles = read(made, row)
    assert middles == sorted(middles)
    assert row.height_mm == pytest.approx(10.0, abs=0.4)
    assert isinstance(row.baseline, StraightBaseline)
    assert row.baseline.angle_rad == pytest.approx(0.0, abs=0.02)


def test_small_letters_dots_and_descenders_belong_to_their_row():
    made = lettered("going home")
    (row,) = find_letters(made)
    assert len(row.letters) == len("goinghome")
    assert sorted(len(letter) for letter in row.letters)[-1] == 2  # the i and its dot


def test_a_row_on_an_arc_is_found_on_its_arc():
    made = lettered("VOLUNTEERS", ArcBaseline(40.0))
    (row,) = find_letters(made)
    assert len(row.letters) == 10
    assert isinstance(row.baseline, ArcBaseline)
    assert row.baseline.radius_mm == pytest.approx(40.0, abs=1.5)


def test_a_slanting_row_has_a_slanting_line():
    made = lettered("ORCHARD", StraightBaseline((0, 0), 0.3))
    (row,) = find_letters(made)
    assert row.baseline.angle_rad == pytest.approx(0.3, abs=0.03)


@pytest.mark.parametrize(
    "shapes",
    [
        [(square(0, 0, 30), "red")],
        [(square(0, 0, 2, 10), "red"), (square(5, 0, 2, 10), "red")],
        [(shapely.Point(12 * i, 0).buffer(5), "red") for i in range(5)],
        [(square(40 * i, 17 * (i % 2), 2, 10), "red") for i in range(4)],
    ],
)
def test_what_is_no_row_of_letters_is_none(shapes):
    assert find_letters(design(*shapes)) == ()


def test_straightening_puts_feet_and_heads_on_their_lines():
    crooked = lettered("ORCHARD", shake_mm=0.8)
    (before,) = find_letters(crooked)
    assert before.off_line_mm > 0.3
    done = carry_out(crooked, StraightenLetters(), means=MEANS)
    assert faults(done.region_map) == []
    (row,) = find_letters(done.region_map)
    assert row.off_line_mm < 0.02
    heads = [
        heights_above(
            shapely.get_coordinates(done.region_map.region(n[0]).polygon), row.baseline
        ).max()
        for n in row.letters
    ]
    assert np.ptp(heads) < 0.02
    # Every area keeps its number, the insides of O, A, R and D too.
    assert {r.id for r in done.region_map.regions} >= {r.id for r in crooked.regions}


def test_straightening_where_there_are_no_letters_is_refused():
    with pytest.raises(EditError, match="no row of letters was found"):
        carry_out(design((square(0, 0, 30), "red")), StraightenLetters())
    one = lettered("ORCHARD", others=((square(-5, 30, 30), "green"),))
    with pytest.raises(EditError, match="no row of letters was found"):
        carry_out(one, StraightenLetters((AreaRef(0),)))


def leaf(tilt: float):
    """A leaf about the y axis, its right half drawn ``tilt`` mm fuller than its left."""
    t = np.linspace(-math.pi / 2, math.pi / 2, 61)
    right = np.column_stack([(12.0 + tilt) * np.cos(t), 20.0 * np.sin(t)])
    left = np.column_stack([-12.0 * np.cos(t), 20.0 * np.sin(t)])[::-1]
    return design((shapely.Polygon(np.vstack([right, left[1:-1]])), "green"))


def test_a_nearly_even_leaf_is_offered_with_its_error_and_made_exact():
    drawn = leaf(0.6)
    found = [s for s in find_symmetries(drawn) if abs(math.sin(s.angle_rad)) > 0.9]
    assert 0.05 < found[0].error_mm < 0.7
    done = carry_out(drawn, MakeEven(found[0].centre_mm, found[0].angle_rad), means=MEANS)
    assert faults(done.region_map) == []
    after = [s for s in find_symmetries(done.region_map) if abs(math.sin(s.angle_rad)) > 0.9]
    assert after[0].error_mm < found[0].error_mm / 3
    shape = done.region_map.regions[0].polygon
    middle = found[0].centre_mm
    turned = affinity.scale(shape, -1.0, 1.0, origin=(0.0, middle[1]))
    if abs(found[0].angle_rad - math.pi / 2) < 1e-3:
        assert shapely.symmetric_difference(shape, turned).area < 0.2


def test_a_pair_across_a_line_becomes_a_mirror_pair():
    two = design((square(-20, 0, 10), "red"), (square(11, 0.5, 9), "red"))
    done = carry_out(two, MakeEven((0.0, 5.0), math.pi / 2), means=MEANS)
    a, b = (done.region_map.region(n).polygon for n in (0, 1))
    mirrored = affinity.scale(a, -1.0, 1.0, origin=((a.centroid.x + b.centroid.x) / 2, 0.0))
    assert shapely.symmetric_difference(mirrored, b).area < 0.05


def test_turns_are_found_and_made_exact():
    petals = []
    for k in range(5):
        size = 1.0 + (0.06 if k == 2 else 0.0)
        petal = affinity.scale(shapely.Point(14, 0).buffer(5), size, size)
        petals.append((affinity.rotate(petal, 72 * k, origin=(0, 0)), "red"))
    flower = design(*petals)
    found = [s for s in find_symmetries(flower) if s.fold == 5]
    assert found
    done = carry_out(flower, MakeEven(found[0].centre_mm, math.pi / 2, 5), means=MEANS)
    areas = [r.polygon.area for r in done.region_map.regions]
    assert np.ptp(areas) < 0.01 * max(areas)
    with pytest.raises(EditError, match="cannot repeat 1 times"):
        carry_out(flower, MakeEven((0.0, 0.0), 0.0, 1))
    with pytest.raises(EditError, match="no area there has a partner"):
        carry_out(flower, MakeEven((200.0, 0.0), math.pi / 2))


def test_symmetry_is_not_seen_where_there_is_none():
    crooked = shapely.Polygon(
        [(0, 0), (30, 0), (30, 5), (14, 9), (11, 17), (3, 12), (-4, 30), (0, 8)]
    )
    assert find_symmetries(design((crooked, "red"))) == ()


def test_the_smallest_height_of_a_bar_is_where_it_is_one_thread_wide():
    """A bar 1 mm wide in a design 40 mm high, thread 0.4 mm wide: from 16 mm."""
    made = design((square(0, 0, 40), "red"), (square(50, 0, 1, 30), "green"))
    sizes = {s.areas: s for s in find_sewable_sizes(made, thread_mm=0.4, gap_mm=0.6)}
    assert sizes[(1,)].smallest_height_mm == pytest.approx(16.0, rel=0.06)
    assert not sizes[(1,)].is_too_small
    assert sizes[(0,)].smallest_height_mm < 6.5


def test_a_bar_too_thin_has_ways_out_that_work():
    made = design((square(0, 0, 40), "red"), (square(50, 0, 0.25, 30), "green"))
    found = find_sewable_sizes(made, thread_mm=0.4, gap_mm=0.6, thinner={"fine": 0.24, "hair": 0.1})
    (size,) = (s for s in found if s.is_too_small)
    ways = {remedy.way: remedy for remedy in size.remedies}
    assert set(ways) == {WayOut.THICKEN, WayOut.DROP, WayOut.LARGER, WayOut.THINNER_THREAD}
    assert ways[WayOut.THINNER_THREAD].thread == "fine"
    assert ways[WayOut.LARGER].height_mm == pytest.approx(64.0, abs=2.0)
    for way in (WayOut.THICKEN, WayOut.DROP):
        mended = made
        for edit in ways[way].edits:
            mended = carry_out(mended, edit, means=MEANS).region_map
        left = find_sewable_sizes(mended, thread_mm=0.4, gap_mm=0.6)
        assert not any(s.is_too_small for s in left), way
    plain = sewable_object(size)
    assert plain["too_small"]
    assert {r["way"] for r in plain["remedies"]} == {"thicken", "drop", "larger", "thinner thread"}


def test_a_gap_too_narrow_is_widened_or_closed():
    made = design((square(0, 0, 40), "red"), (square(40.3, 0, 20, 40), "green"))
    (gap,) = (s for s in find_sewable_sizes(made, thread_mm=0.4, gap_mm=0.6) if s.is_gap)
    assert gap.width_mm == pytest.approx(0.3, abs=0.05)
    assert gap.smallest_height_mm == pytest.approx(80.0, rel=0.15)
    for remedy in gap.remedies:
        mended = made
        for edit in remedy.edits:
            mended = carry_out(mended, edit, means=MEANS).region_map
        if remedy.edits:
            left = find_sewable_sizes(mended, thread_mm=0.4, gap_mm=0.6)
            assert not any(s.is_gap for s in left), remedy.way
