"""Cautions with numbers, held to the limits they cite.

Sources: EN ISO 20471:2013 table 1 (three pages agree); NFPA 2112 annex A.7.1.2.1 (quoted) and ASTM
F1506 appendix X1.2.5 (quoted); EN ISO 11612 (one page); 16 CFR 1615 and 1616 (inch figures from a
state reprint, metric ones from memory).
"""

import pytest

from firstpiece.paperwork.protective_wear import (
    FORBIDDEN,
    HI_VIS_BACKGROUND_M2,
    HI_VIS_REFLECTIVE_M2,
    SewnMark,
    deciding_line,
    protective_cautions,
)

MARK = SewnMark(90.0, 80.0, 5000.0, 8759)


def test_hi_vis_areas_are_those_of_the_table():
    """EN ISO 20471 table 1: classes 3, 2, 1."""
    assert [HI_VIS_BACKGROUND_M2[c] for c in (3, 2, 1)] == [0.80, 0.50, 0.14]
    assert [HI_VIS_REFLECTIVE_M2[c] for c in (3, 2, 1)] == [0.20, 0.13, 0.10]
    line, last = protective_cautions(("hi-vis-2",), MARK)
    assert "0.0050 m²" in line
    assert "class 2: 0.50 m²" in line
    assert "class 3" not in line
    assert last == deciding_line()


@pytest.mark.parametrize(
    ("width", "height", "n", "verdict"),
    [
        # 16 in² is 103.2 cm²: a square of 4 in keeps the limit of 103 cm² only when a hair smaller.
        (101.0, 101.0, 1, "within"),
        (102.0, 102.0, 1, "beyond"),
        # Five of 50 cm² are 250 cm², within 258; six are too many whatever their size.
        (100.0, 50.0, 5, "within"),
        (100.0, 55.0, 5, "beyond"),
        (10.0, 10.0, 6, "beyond"),
    ],
)
def test_flame_resistant_emblems(width, height, n, verdict):
    """NFPA 2112: at most 5 emblems, each ≤ 103 cm² (16 in²), ≤ 258 cm² (40 in²) in all."""
    mark = SewnMark(width, height, width * height, 100, n, "polyester")
    lines = protective_cautions(("flame-resistant",), mark)
    assert f"is {verdict} the limit" in lines[0]
    assert any("polyester" in line for line in lines)
    assert any("EN ISO 11612" in line for line in lines) == (width * height > 1000.0)


@pytest.mark.parametrize(
    ("width", "height", "n", "verdict"),
    [(49.0, 30.0, 1, "below"), (50.0, 30.0, 1, "not below"), (49.0, 49.0, 6, "not below")],
)
def test_nightwear_trim(width, height, n, verdict):
    """16 CFR 1615.1, 1616.2: trim under 2 in on its longest side and 20 in² in all."""
    mark = SewnMark(width, height, width * height, 100, n)
    (line, _last) = protective_cautions(("nightwear",), mark)
    assert f"is {verdict} 50 mm" in line


def test_holes_are_counted_on_waterproof_shells():
    assert "8759 holes" in protective_cautions(("waterproof",), MARK)[0]


@pytest.mark.parametrize("code", FORBIDDEN)
def test_some_goods_are_never_sewn(code):
    assert protective_cautions((code,), MARK)[0].startswith("Do not sew")


def test_other_codes_say_nothing_here():
    assert protective_cautions(("skin-side", "children"), MARK) == ()
