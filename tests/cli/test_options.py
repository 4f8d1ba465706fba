"""How option texts become values."""

from __future__ import annotations

import pytest

from firstpiece.cli.options import ColorType, CountsType, LengthsType, LengthType


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3in,5in,8in,12in", (76.2, 127.0, 203.2, 304.8)),
        ("3,5,8in", (76.2, 127.0, 203.2)),
        ("60mm, 3in", (60.0, 76.2)),
        ('3 1/2", 4"', (88.9, 101.6)),
        ("60 mm,", (60.0,)),
        (",", ()),
    ],
)
def test_lengths_between_commas(text, mm):
    assert LengthsType().convert(text, None, None) == pytest.approx(mm)


def test_one_length():
    assert LengthType().convert("9cm", None, None) == 90.0


def test_counts_between_commas():
    assert CountsType().convert("1, 12,48", None, None) == (1, 12, 48)


@pytest.mark.parametrize(
    ("text", "rgb"),
    [("#2f7335", (47, 115, 53)), ("white", (255, 255, 255)), ("rebeccapurple", (102, 51, 153))],
)
def test_colors_by_code_or_css_name(text, rgb):
    # CSS Color Module Level 4, section 6.1: rebeccapurple is #663399.
    assert ColorType().convert(text, None, None) == rgb
