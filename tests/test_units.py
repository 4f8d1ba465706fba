"""Units: lengths as people type them, thread counts, diameters and needle numbers.

Sources: the inch is 25.4 mm exactly (international yard and pound agreement of 1959; NIST SP 811,
appendix B.8). Tex and metric count: ISO 1144 and ISO 2947, tex = 1000/Nm; denier = 9 tex (ASTM
D2260, Table 1). Diameters: the geometry of a cylinder, worked values for polyester of 1.38 g/cm³.
Needle pairs: common practice, no source.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.errors import FirstpieceError, LengthError
from firstpiece.units import (
    POINTS_PER_MM,
    format_length,
    needle_trade_number,
    parse_length_mm,
    tex_from_weight,
    thread_diameter_mm,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("90 mm", 90.0),
        ("90mm", 90.0),
        ("9cm", 90.0),
        ("0.09 m", 90.0),
        ("3.5 in", 88.9),
        ('3.5"', 88.9),
        ("3,5 in", 88.9),
        ('3 1/2"', 88.9),
        ("3-1/2 in", 88.9),
        ("3½ in", 88.9),
        ("½″", 12.7),
        ("7/8 inch", 22.225),
        ("2 inches", 50.8),
        ("72pt", 25.4),
        (" 4 IN ", 101.6),
        (".5in", 12.7),
        ("0mm", 0.0),
    ],
)
def test_lengths_are_read_as_a_shop_writes_them(text, mm):
    assert parse_length_mm(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["", " ", "90", "mm", "-3mm", "+3mm", "tall", "3 parsecs", "1/0 in", "3 1/0 in", "1e9mm",
     "nan mm", "inf mm", "3..5mm", "3 4 mm", "3 1/2 1/4 in", "9" * 400 + "mm", "３ｍｍ"],
)  # fmt: skip
def test_what_is_no_length_is_refused_in_one_sentence(text):
    with pytest.raises(LengthError) as caught:
        parse_length_mm(text)
    said = str(caught.value)
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 160


def test_a_bare_number_takes_the_unit_it_is_given():
    assert parse_length_mm("3.5", default_unit="in") == pytest.approx(88.9)
    assert parse_length_mm("35 mm", default_unit="in") == 35.0


@given(st.text(max_size=20))
def test_any_text_is_a_length_or_one_fault(text):
    try:
        value = parse_length_mm(text)
    except FirstpieceError:
        return
    assert math.isfinite(value)
    assert value >= 0


@given(st.integers(0, 200), st.integers(0, 15), st.sampled_from([2, 4, 8, 16]))
def test_inches_and_fractions_are_exact(whole, top, bottom):
    inches = whole + Fraction(top, bottom)
    assert parse_length_mm(f'{whole} {top}/{bottom}"') == pytest.approx(float(inches) * 25.4)


@given(st.floats(0.1, 999), st.sampled_from(["mm", "cm", "in"]))
def test_a_length_written_and_read_again_is_the_same(mm, unit):
    assert parse_length_mm(format_length(mm, unit=unit, digits=6)) == pytest.approx(mm, abs=1e-4)


def test_lengths_are_written_without_needless_zeros():
    assert format_length(90.0) == "90 mm"
    assert format_length(88.9, unit="in") == "3.5 in"
    assert format_length(88.9, unit="cm", digits=2) == "8.89 cm"
    assert format_length(100.0, digits=0) == "100 mm"


def test_a_point_is_a_72nd_of_an_inch():
    # ISO 32000-1, 8.3.2.3: the default unit of user space.
    assert pytest.approx(72.0) == POINTS_PER_MM * 25.4


@pytest.mark.parametrize(("weight", "denier"), [(40, 225.0), (60, 150.0), (30, 300.0), (12, 750.0)])
def test_a_weight_read_as_metric_count_gives_tex(weight, denier):
    # tex = 1000/Nm, denier = 9·tex.
    assert tex_from_weight(weight) * 9 == pytest.approx(denier)


@pytest.mark.parametrize(
    ("tex", "packing", "mm"),
    [(25, 0.5, 0.2148), (25, 0.65, 0.1884), (25, 0.75, 0.1754), (16.67, 0.5, 0.1754),
     (16.67, 0.65, 0.1538), (16.67, 0.75, 0.1432)],
)  # fmt: skip
def test_the_diameter_of_a_polyester_thread(tex, packing, mm):
    # Worked values, density 1.38 g/cm³.
    assert thread_diameter_mm(tex, 1.38, packing) == pytest.approx(mm, abs=6e-5)


@given(st.floats(5, 200), st.floats(0.9, 2.0), st.floats(0.3, 0.9))
def test_a_kilometre_of_the_cylinder_weighs_its_tex(tex, density, packing):
    radius_cm = thread_diameter_mm(tex, density, packing) / 20
    grams_per_km = math.pi * radius_cm**2 * 100_000 * density * packing
    assert grams_per_km == pytest.approx(tex)


@pytest.mark.parametrize(
    ("metric", "pair"),
    [(60, "60/8"), (65, "65/9"), (70, "70/10"), (75, "75/11"), (80, "80/12"), (90, "90/14"),
     (100, "100/16")],
)  # fmt: skip
def test_needles_are_named_as_the_trade_pairs_them(metric, pair):
    # Common practice, no source: two published tables agree on these pairs.
    assert needle_trade_number(metric) == pair
