"""The questions a rough picture leaves open, on designs whose answers are plain to see."""

from __future__ import annotations

import math

import pytest
import shapely

from firstpiece.briefing.bare_areas import NEAR_GARMENT_DELTA_E
from firstpiece.briefing.color_difference import color_difference
from firstpiece.briefing.stage import letters, list_questions
from firstpiece.files.material_card import CardDrawer
from firstpiece.geometry.narrow_part import find_narrow_part
from firstpiece.model.material import ThreadColor
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap

CARDS = CardDrawer()
APRON = CARDS.setup("apron-natural")
BLACK_TEE = CARDS.setup("tee-black")
LIMIT = APRON.thread.laid_width_mm
RACK = {color.name: color for color in APRON.thread.colors}


def box(x0: float, y0: float, x1: float, y1: float) -> shapely.Polygon:
    return shapely.box(x0, y0, x1, y1)


def match(art: tuple[int, int, int], thread: str) -> ColorMatch:
    return ColorMatch(art, RACK[thread], color_difference(art, RACK[thread].rgb))


def design(*areas: tuple[shapely.Polygon, int], matches: tuple[ColorMatch, ...]) -> RegionMap:
    """Return a design 60 by 60 mm of these areas on a red ground with room for them."""
    used = shapely.union_all([polygon for polygon, _ in areas])
    ground = box(-30, -30, 30, 30).difference(used)
    regions = [Region(0, ground, 0)]
    regions += [Region(i, polygon, c) for i, (polygon, c) in enumerate(areas, start=1)]
    return RegionMap(tuple(regions), matches, 60.0, 60.0)


def width_of(polygon: shapely.Polygon) -> float:
    part = find_narrow_part(polygon, limit_mm=0.4)
    assert part is not None
    assert shapely.Point(part.where_mm).within(polygon)
    return part.width_mm


RED = match((210, 40, 35), "poppy")
WHITE = match((252, 252, 250), "chalk white")
BLACK = match((20, 20, 22), "black")


def test_a_plain_design_leaves_nothing_open_but_says_what_no_picture_tells():
    questions = list_questions(design(matches=(RED,)), setup=APRON)
    assert questions.items == ()
    assert "clear to us" in questions.message
    assert "60 mm high" in questions.message


def test_enclosed_white_is_asked_about_and_stays_thread_without_an_answer():
    region_map = design((box(-20, 8, -8, 20), 1), matches=(RED, WHITE))
    (question,) = list_questions(region_map, setup=APRON).items
    assert (question.code, question.letter, question.region_ids) == ("bare-or-thread", "A", (1,))
    assert "at the top left" in question.text
    assert "12 × 12 mm" in question.text
    assert [choice.effect for choice in question.choices] == ["thread", "bare"]
    assert shapely.Point(question.where_mm).within(region_map.region(1).polygon)


def test_cloth_left_showing_is_asked_about_and_stays_cloth_without_an_answer():
    region_map = design((box(-5, -5, 5, 5), BARE), matches=(RED,))
    (question,) = list_questions(region_map, setup=APRON).items
    assert [choice.effect for choice in question.choices] == ["bare", "thread"]
    assert "in the middle" in question.text


def test_black_on_a_black_shirt_is_asked_about_and_on_natural_cloth_is_not():
    region_map = design((box(10, -20, 20, -10), 1), matches=(RED, BLACK))
    assert color_difference(RACK["black"].rgb, BLACK_TEE.garment.rgb) < NEAR_GARMENT_DELTA_E
    (question,) = list_questions(region_map, setup=BLACK_TEE).items
    assert question.code == "bare-or-thread"
    assert "black" in question.text
    assert "at the bottom right" in question.text
    assert list_questions(region_map, setup=APRON).items == ()


def test_many_white_areas_are_four_questions_and_one_for_the_rest():
    spots = [(box(x, y, x + 2 + 0.1 * i, y + 2), 1) for i, (x, y) in enumerate(
        (x, y) for x in range(-25, 25, 10) for y in (-20, 0, 20)
    )]  # fmt: skip
    items = list_questions(design(*spots, matches=(RED, WHITE)), setup=APRON).items
    assert [len(q.region_ids) for q in items] == [1, 1, 1, 1, 11]
    assert sorted(i for q in items for i in q.region_ids) == list(range(1, 16))
    assert "11 smaller white areas" in items[-1].text


def test_two_close_threads_may_become_one():
    grass, leaf = match((76, 154, 47), "apple red"), match((140, 20, 35), "cherry")
    near = color_difference(RACK["apple red"].rgb, RACK["cherry"].rgb)
    assert near < 10
    region_map = design((box(-20, -20, 0, 0), 1), matches=(grass, leaf))
    (question,) = list_questions(region_map, setup=APRON).items
    assert question.code == "near-colors"
    assert [c.effect for c in question.choices] == ["keep", "merge", "merge"]
    assert {c.value for c in question.choices[1:]} == {"apple red", "cherry"}


def test_two_colours_on_one_thread_are_told():
    light, dark = match((230, 60, 50), "poppy"), match((190, 30, 30), "poppy")
    region_map = design((box(-20, -20, 0, 0), 1), matches=(light, dark))
    (question,) = list_questions(region_map, setup=APRON).items
    assert question.choices[0].effect == "merge"
    assert "poppy" in question.text


def test_far_colours_are_no_question():
    blue = match((31, 79, 163), "royal")
    region_map = design((box(-20, -20, 0, 0), 1), matches=(RED, blue))
    assert list_questions(region_map, setup=APRON).items == ()


def test_a_hairline_tells_the_height_at_which_it_can_be_sewn():
    """0.2 mm wide in a design 60 mm high reaches the thread's 0.398 mm at 60 × 1.99 = 119.4 mm."""
    blue = match((31, 79, 163), "royal")
    region_map = design((box(-20, 0, 20, 0.2), 1), matches=(RED, blue))
    (question,) = list_questions(region_map, setup=APRON).items
    assert question.code == "too-small"
    assert question.sewable_height_mm == pytest.approx(math.ceil(60 * LIMIT / 0.2), abs=1)
    assert "0.20 mm wide" in question.text
    height = next(c for c in question.choices if c.effect == "height")
    assert height.value == question.sewable_height_mm
    assert question.choices[0].effect == "thicken"


def test_a_height_no_hoop_holds_is_told_and_not_offered():
    """0.04 mm would need a design 597 mm high; the largest hoop for the apron is 360 mm."""
    blue = match((31, 79, 163), "royal")
    region_map = design((box(-20, 0, 20, 0.04), 1), matches=(RED, blue))
    (question,) = list_questions(region_map, setup=APRON).items
    assert [c.effect for c in question.choices] == ["thicken", "drop"]
    assert "more than the hoops" in question.text


def test_every_open_point_has_its_letter_in_the_message():
    spots = [(box(-20, -20, -10, -10), 1), (box(-20, 10, 20, 10.2), 2), (box(5, -9, 15, 0), BARE)]
    blue = match((31, 79, 163), "royal")
    questions = list_questions(design(*spots, matches=(RED, WHITE, blue)), setup=APRON)
    assert [q.letter for q in questions.items] == ["A", "B", "C"]
    for question in questions.items:
        assert f"\n{question.letter}. {question.text}\n   1) " in questions.message
    assert "garment" in questions.message
    assert "{" not in questions.message


@pytest.mark.parametrize(
    ("index", "text"),
    [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")],
)
def test_letters_count_like_columns_of_a_table(index, text):
    assert letters(index) == text


def test_width_of_plain_shapes():
    assert find_narrow_part(box(0, 0, 30, 10), limit_mm=0.4) is None
    assert width_of(box(0, 0, 30, 0.3)) == pytest.approx(0.3, rel=0.03)
    circle = shapely.Point(0, 0).buffer(0.15, quad_segs=32)
    assert find_narrow_part(circle, limit_mm=0.4) is None  # a speck is no stretch
    neck = box(-10, -5, -2, 5).union(box(-3, -0.1, 3, 0.1)).union(box(2, -5, 10, 5))
    assert width_of(neck) == pytest.approx(0.2, rel=0.1)


def test_a_pointed_corner_is_no_detail_but_a_thin_spike_is():
    leaf = shapely.Polygon([(0, -2), (12, 0), (0, 2)])
    assert find_narrow_part(leaf, limit_mm=0.4) is None
    spike = box(-10, -5, 0, 5).union(box(-0.1, -0.1, 8, 0.1))
    assert width_of(spike) == pytest.approx(0.2, rel=0.1)


def test_same_design_gives_the_same_message():
    spots = [(box(-20, -20, -10, -10), 1), (box(-20, 10, 20, 10.2), 1)]
    maps = [design(*spots, matches=(RED, WHITE)) for _ in range(2)]
    one, other = (list_questions(m, setup=APRON) for m in maps)
    assert one == other


def test_threads_of_another_width_move_the_limit():
    """16.7 tex lies √(16.7/26.7) = 0.79 times as wide: a line of 0.35 mm is no longer too small."""
    thin = CARDS.setup("apron-natural", thread="poly-60")
    blue = match((31, 79, 163), "royal")
    region_map = design((box(-20, 0, 20, 0.35), 1), matches=(RED, blue))
    assert len(list_questions(region_map, setup=APRON).items) == 1
    assert list_questions(region_map, setup=thin).items == ()
    assert isinstance(blue.thread, ThreadColor)
