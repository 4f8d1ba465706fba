"""Set text: sizes, kerning, spacing, baselines, joined and right-to-left scripts, bad input."""

from __future__ import annotations

import math
from importlib.resources import files as package_files
from io import BytesIO

import numpy as np
import pytest
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.ttLib import TTFont

from firstpiece.errors import InputError
from firstpiece.lettering.set_text import set_text
from firstpiece.model.lettering import (
    ArcBaseline,
    CircleBaseline,
    StraightBaseline,
    placed_xy,
    unplaced_xy,
)


def font(name: str) -> bytes:
    return (package_files("firstpiece") / "data" / "fonts" / f"{name}.ttf").read_bytes()


SANS, BOLD = font("NotoSans-Regular"), font("NotoSans-Bold")
ARABIC, HEBREW = font("NotoSansArabic-Bold"), font("NotoSansHebrew-Bold")


def gaps_mm(set_line):
    """Return the distances between letters that follow each other in a word."""
    areas = [shapely.union_all(set_line.parts_of(letter)) for letter in set_line.letters]
    words = [letter.word for letter in set_line.letters]
    return [
        shapely.distance(a, b)
        for a, b, w, v in zip(areas, areas[1:], words, words[1:], strict=False)
        if w == v
    ]


def test_capitals_have_the_height_the_font_tells():
    """Against the OS/2 table (sCapHeight), read by fontTools."""
    table = TTFont(BytesIO(SANS))["OS/2"]
    line = set_text("H", SANS, cap_height_mm=12.0)
    _x0, low, _x1, high = shapely.union_all(line.areas_mm).bounds
    assert (low, high) == pytest.approx((0.0, 12.0), abs=1e-9)
    assert table.sCapHeight / TTFont(BytesIO(SANS))["head"].unitsPerEm == pytest.approx(
        12.0 / (12.0 / 0.714), abs=1e-3
    )


def test_a_letter_has_the_area_of_its_glyph():
    """Against fontTools' area of the unflattened outline; O and B do not overlap themselves."""
    read = TTFont(BytesIO(BOLD))
    glyphs, scale = read.getGlyphSet(), 12.0 / read["OS/2"].sCapHeight
    for sign in "OB":
        pen = AreaPen(glyphs)
        glyphs[read.getBestCmap()[ord(sign)]].draw(pen)
        line = set_text(sign, BOLD, cap_height_mm=12.0)
        assert sum(p.area for p in line.areas_mm) == pytest.approx(
            abs(pen.value) * scale**2, rel=1e-3
        )


def test_letters_follow_at_the_font_s_advances_and_kerning():
    """Against hmtx; and AV, which every kerned font draws together, stands closer than HH."""
    read = TTFont(BytesIO(SANS))
    scale = 10.0 / read["OS/2"].sCapHeight
    line = set_text("HH", SANS, cap_height_mm=10.0)
    (x0, _), (x1, _) = (letter.origin_mm for letter in line.letters)
    assert x1 - x0 == pytest.approx(read["hmtx"]["H"][0] * scale)
    kerned = set_text("AV", SANS, cap_height_mm=10.0)
    step = kerned.letters[1].origin_mm[0] - kerned.letters[0].origin_mm[0]
    assert step < read["hmtx"]["A"][0] * scale - 0.1


def test_the_same_letter_is_the_same_form_everywhere():
    line = set_text("banana", SANS, cap_height_mm=8.0, path=ArcBaseline(30.0))
    assert [letter.glyph for letter in line.letters] == [0, 1, 2, 1, 2, 1]
    again = set_text("ban", SANS, cap_height_mm=8.0)
    assert [g.key for g in again.glyphs] == [g.key for g in line.glyphs]
    larger = set_text("ban", SANS, cap_height_mm=9.0)
    assert not {g.key for g in larger.glyphs} & {g.key for g in line.glyphs}
    for letter in line.letters:
        for placed, part in zip(
            line.parts_of(letter), line.glyphs[letter.glyph].parts_mm, strict=True
        ):
            back = unplaced_xy(
                shapely.get_coordinates(placed),
                origin_mm=letter.origin_mm,
                angle_rad=letter.angle_rad,
            )
            assert np.abs(back - shapely.get_coordinates(part)).max() < 1e-9


def test_spacing_opens_every_gap_and_least_gap_only_the_narrow_ones():
    plain = set_text("AVATAR", BOLD, cap_height_mm=10.0)
    opened = set_text("AVATAR", BOLD, cap_height_mm=10.0, spacing_mm=1.0)
    steps = np.diff([letter.origin_mm[0] for letter in plain.letters])
    wider = np.diff([letter.origin_mm[0] for letter in opened.letters])
    assert wider - steps == pytest.approx(1.0)
    enough = set_text("AVATAR", BOLD, cap_height_mm=10.0, least_gap_mm=2.3)
    before, after = gaps_mm(plain), gaps_mm(enough)
    assert min(before) < 1.3
    assert min(after) >= 2.295
    wide = [(b, a) for b, a in zip(before, after, strict=True) if b > 2.3]
    assert wide
    assert all(a == pytest.approx(b, abs=1e-6) for b, a in wide)


def test_inside_an_arc_crowding_heads_are_opened():
    arc = ArcBaseline(18.0, middle_rad=-math.pi / 2, is_inside=True)
    plain = set_text("HHHHHH", BOLD, cap_height_mm=8.0, path=arc)
    enough = set_text("HHHHHH", BOLD, cap_height_mm=8.0, path=arc, least_gap_mm=1.0)
    assert min(gaps_mm(plain)) < 0.9
    assert min(gaps_mm(enough)) >= 0.995


def test_feet_stand_on_the_arc_and_heads_point_the_right_way():
    outside = set_text("HEN", BOLD, cap_height_mm=5.0, path=ArcBaseline(30.0, (3.0, -2.0)))
    inside = set_text(
        "HEN",
        BOLD,
        cap_height_mm=5.0,
        path=ArcBaseline(30.0, (3.0, -2.0), -math.pi / 2, is_inside=True),
    )
    centre = shapely.Point(3.0, -2.0)
    far = shapely.union_all(outside.areas_mm)
    near = shapely.union_all(inside.areas_mm)
    assert shapely.distance(far, centre) == pytest.approx(30.0, abs=0.15)
    assert shapely.hausdorff_distance(near, centre) == pytest.approx(30.0, abs=0.2)
    # Both read from left to right where the reader stands.
    for line in (outside, inside):
        xs = [letter.origin_mm[0] for letter in line.letters]
        assert xs == sorted(xs)
    # The middle of the text stands over the middle of the arc.
    x0, _, x1, _ = far.bounds
    assert (x0 + x1) / 2 == pytest.approx(3.0, abs=0.5)


def test_a_circle_closes_evenly():
    line = set_text("OOOOOOOO", SANS, cap_height_mm=6.0, path=CircleBaseline(20.0))
    angles = np.unwrap([letter.angle_rad for letter in line.letters])
    steps = -np.diff(angles)
    assert steps == pytest.approx(steps[0])
    # The gap where the circle closes holds a space besides.
    rest = 2 * math.pi - steps.sum()
    assert steps[0] < rest < 2 * steps[0]


def test_joined_letters_stay_joined_however_far_others_are_opened():
    line = set_text("ببب ببب", ARABIC, cap_height_mm=10.0, spacing_mm=3.0, least_gap_mm=2.0)
    assert line.letters[0].text == "ب"
    # Two words, each in one piece, and the dots of six letters.
    assert len(line.areas_mm) == 2 + 6
    # First, middle and last form differ; a letter's form is found again in the second word.
    assert len(line.glyphs) < len(line.letters)


def test_right_to_left_text_begins_at_the_right():
    line = set_text("פרי", HEBREW, cap_height_mm=10.0)
    assert [letter.text for letter in line.letters] == ["י", "ר", "פ"]
    xs = [letter.origin_mm[0] for letter in line.letters]
    assert xs == sorted(xs)


def test_ligatures_go_when_letters_are_spaced_and_accents_are_put_together():
    apart = set_text("e\u0301", SANS, cap_height_mm=10.0)
    whole = set_text("é", SANS, cap_height_mm=10.0)
    assert [g.key for g in apart.glyphs] == [g.key for g in whole.glyphs]
    assert len(apart.glyphs[0].parts_mm) == 2


def test_a_turned_line_is_the_line_turned():
    flat = set_text("turn", SANS, cap_height_mm=10.0)
    turned = set_text("turn", SANS, cap_height_mm=10.0, path=StraightBaseline((4.0, 5.0), 0.7))
    for a, b in zip(flat.letters, turned.letters, strict=True):
        moved = placed_xy(np.array([a.origin_mm]), origin_mm=(4.0, 5.0), angle_rad=0.7)
        assert moved[0] == pytest.approx(b.origin_mm)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"text": "  "}, "there is no text to set"),
        ({"text": "a\nb"}, "set one line at a time"),
        ({"text": "x" * 401}, "401 characters"),
        ({"text": "apple 苹果"}, "the font has no “果苹”"),
        ({"font_bytes": b"junk"}, "not a font file"),
        ({"font_bytes": b""}, "not a font file"),
        ({"font_bytes": SANS[:2000]}, "font"),
        ({"font_bytes": b"wOF2junk"}, "WOFF2"),
        ({"font_bytes": b"wOFFjunk"}, "damaged"),
        ({"cap_height_mm": math.nan}, "nan mm high"),
        ({"cap_height_mm": 1e9}, "choose 1 to 500 mm"),
        ({"spacing_mm": math.inf}, "cannot be spaced"),
        ({"least_gap_mm": -1.0}, "cannot be spaced"),
        ({"path": ArcBaseline(3.0)}, "only 18.8 mm round"),
        ({"path": ArcBaseline(math.nan)}, "radius"),
        ({"path": StraightBaseline((math.nan, 0.0))}, "not a place"),
        ({"path": StraightBaseline((1e7, 0.0))}, "not a place"),
    ],
)
def test_what_cannot_be_set_gets_one_sentence(change, said):
    asked = {"text": "Orchard", "font_bytes": SANS, "cap_height_mm": 10.0, **change}
    with pytest.raises(InputError, match=said) as fault:
        set_text(asked.pop("text"), asked.pop("font_bytes"), **asked)
    assert str(fault.value).endswith(".")
