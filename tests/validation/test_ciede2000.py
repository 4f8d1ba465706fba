"""CIEDE2000: the 34 pairs of Sharma, Wu & Dalal 2005, The CIEDE2000 color-difference formula, Color
Research and Application 30(1) 21–30, Table 1; and scikit-image's own formula as a second reader.
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000, rgb2lab

from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab

TABLE = Path(__file__).parent / "data" / "ciede2000_sharma34.csv"


def pairs():
    with TABLE.open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", pairs(), ids=lambda row: f"pair_{row['pair']}")
def test_table_1(row):
    """Each printed pair gives its printed difference, to the four printed decimals."""
    one, two = (np.array([[float(row[f"{axis}{n}"]) for axis in "Lab"]]) for n in "12")
    assert ciede2000(one, two)[0, 0] == pytest.approx(float(row["dE00"]), abs=5.1e-5)
    assert ciede2000(two, one)[0, 0] == pytest.approx(float(row["dE00"]), abs=5.1e-5)


def test_table_has_its_34_pairs():
    assert len(pairs()) == 34


COLORS = st.lists(st.tuples(*[st.integers(0, 255)] * 3), min_size=1, max_size=6)


@given(COLORS, COLORS)
def test_agrees_with_scikit_image(first, second):
    """Differences of sRGB colours agree with scikit-image's deltaE_ciede2000."""
    lab = [srgb_to_lab(np.array(colors, dtype=float)) for colors in (first, second)]
    ours = ciede2000(*lab)
    theirs = deltaE_ciede2000(lab[0][:, None], lab[1][None])
    assert ours == pytest.approx(theirs, abs=1e-6)


@given(COLORS)
def test_cielab_agrees_with_scikit_image(colors):
    """CIELAB of sRGB agrees with rgb2lab, whose white point has one digit less (0.01)."""
    codes = np.array(colors, dtype=float)
    assert srgb_to_lab(codes) == pytest.approx(rgb2lab(codes[None] / 255.0)[0], abs=0.01)


def test_empty_lists_of_colors():
    none = np.zeros((0, 3))
    assert ciede2000(none, none).shape == (0, 0)
    assert srgb_to_lab(none).shape == (0, 3)
