"""The words of the traveller and of what is asked; common practice, no source, but for the inch.

25.4 mm to the inch: International Yard and Pound agreement, 1959.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.web.plans import DRAWER

from firstpiece.errors import InputError
from firstpiece.web import asking, traveller
from firstpiece.web.job_folder import Asked, JobFolder
from firstpiece.web.work import heights_around, quantities_around

ASKED = Asked(height_mm=90.0, height_text="90 mm", garment="tee-white")


@pytest.mark.parametrize(
    ("text", "mm"),
    [("90", 90.0), ("9 cm", 90.0), ('3 1/2"', 88.9), ("3.5 in", 88.9), ("8,5 cm", 85.0)],
)
def test_heights_are_read_as_people_write_them(text, mm):
    assert asking.read_asked({"height": text}, DRAWER).height_mm == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("60, 90, 120 mm", (60, 90, 120)), ("3 in; 2 in", (50.8, 76.2)), ("90,90", (90,)),
     ("2,5 cm, 40", (25, 40))],
)  # fmt: skip
def test_lists_of_heights(text, mm):
    assert asking.read_heights_mm(text) == pytest.approx(mm)


def test_what_is_not_filled_in_takes_the_shops_defaults():
    asked = asking.read_asked({}, DRAWER)
    assert asked == Asked(90.0, "90 mm", DRAWER.default_garment)


@given(st.text(max_size=30))
def test_any_text_is_a_height_or_a_fault_that_is_told(text):
    try:
        height_mm = asking.read_height_mm(text)
    except InputError:
        return
    assert asking.LOWEST_MM <= height_mm <= asking.HIGHEST_MM


@given(
    height_mm=st.floats(8, 600),
    quantity=st.integers(1, 999),
    n_colors=st.none() | st.integers(1, 32),
    pairs=st.lists(st.tuples(st.integers(0, 50), st.floats(0.2, 2.0)), max_size=3),
)
def test_what_was_asked_survives_its_file(height_mm, quantity, n_colors, pairs):
    asked = Asked(height_mm, f"{height_mm} mm", "tee-white", "", quantity, n_colors, tuple(pairs))
    again = Asked.from_object(asked.to_object())
    assert again == asked
    assert again.run_id() == asked.run_id()
    assert replace(asked, quantity=quantity + 1).run_id() != asked.run_id()


@pytest.mark.parametrize(
    ("remedy", "change"),
    [
        ({"action": "height", "region_id": -1, "value": 120.0},
         {"height_mm": 120.0, "height_text": "120 mm"}),
        ({"action": "garment", "region_id": -1, "value": "mat-canvas"}, {"garment": "mat-canvas"}),
        ({"action": "thread", "region_id": -1, "value": "poly-60"}, {"thread": "poly-60"}),
        ({"action": "spacing", "region_id": 3, "value": 0.37}, {"row_spacing_mm": ((3, 0.37),)}),
    ],
)  # fmt: skip
def test_remedies_that_one_click_can_apply(remedy, change):
    assert asking.apply_remedy(ASKED, remedy) == replace(ASKED, **change)


@pytest.mark.parametrize("action", ["drop", "thicken", "recolor", "backing", "spacing", "height"])
def test_remedies_a_person_must_do(action):
    value = None if action == "height" else 0.4
    remedy = {"action": action, "region_id": -1, "value": value}
    assert asking.apply_remedy(ASKED, remedy) is None


def test_a_second_spacing_of_the_same_area_replaces_the_first():
    once = asking.apply_remedy(ASKED, {"action": "spacing", "region_id": 3, "value": 0.37})
    twice = asking.apply_remedy(once, {"action": "spacing", "region_id": 3, "value": 0.35})
    assert twice.row_spacing_mm == ((3, 0.35),)


@pytest.mark.parametrize(
    ("n", "word"),
    [
        (1, "first"),
        (12, "twelfth"),
        (13, "13th"),
        (21, "21st"),
        (22, "22nd"),
        (111, "111th"),
        (103, "103rd"),
    ],
)
def test_ordinals(n, word):
    assert traveller.ordinal(n) == word


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(0.38, "mm", "0.38 mm"), (14.26, "min", "14.3 min"), (120.0, "mm", "120 mm"), (2.0, "", "2"),
     (20, "1/mm²", "20 per mm²"), (100, "kB", "100 kB"), (12345.6, "m", "12\u202f346 m")],
)  # fmt: skip
def test_figures_carry_their_unit(value, unit, words):
    assert traveller.with_unit(value, unit).replace("\u00a0", " ") == words


def _treatment(region_id, order, kind="fill", thread=0, spacing=0.38):
    return {
        "region_id": region_id,
        "sewn_order": order,
        "stitch_type": kind,
        "thread": thread,
        "spacing_mm": spacing,
        "stitch_length_mm": 2.5,
        "reason": "Wide enough for rows.",
    }


def test_areas_are_sentences_in_sewing_order_and_alike_ones_share_one():
    plan = {
        "threads": [{"name": "leaf green", "hex": "#2f7335"}, {"name": "bark", "hex": "#684226"}],
        "treatments": [_treatment(7, 3, "satin", 1, 0.4), _treatment(4, 1), _treatment(2, 0),
                       _treatment(5, 2)],
    }  # fmt: skip
    shown, rest = traveller.describe_areas({"plan": plan})
    assert rest == ()
    assert [f"{a['name']}: {a['lead']} — {a['reason']}." for a in shown] == [
        "Areas 2, 4 and 5: filled, leaf green, rows 0.38 mm apart, sewn first to third — "
        "wide enough for rows.",
        "Area 7: satin column, bark, 0.40 mm column spacing, sewn fourth — wide enough for rows.",
    ]


@pytest.mark.parametrize("height_mm", [8.0, 20.0, 37.5, 90.0, 250.0, 600.0])
def test_the_heights_to_compare_hold_the_asked_one(height_mm):
    heights = heights_around(height_mm)
    assert height_mm in heights
    assert 2 <= len(heights) <= 4
    assert heights == tuple(sorted(heights))
    assert all(asking.LOWEST_MM <= h <= asking.HIGHEST_MM for h in heights)


def test_the_numbers_to_compare_hold_the_asked_one():
    assert quantities_around(30) == (1, 12, 30, 48)
    assert quantities_around(12) == (1, 12, 48)


@pytest.mark.parametrize("name", ["../x", "a/b", "0123456789abcde", "0123456789ABCDEF", "", "."])
def test_only_our_own_identities_are_paths(tmp_path, name):
    folder = JobFolder(tmp_path)
    with pytest.raises(InputError):
        folder.path(name or "x")
    with pytest.raises(InputError):
        folder.path("0123456789abcdef", name or "x")
