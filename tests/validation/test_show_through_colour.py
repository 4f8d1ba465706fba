"""The colour difference behind show-through: IEC 61966-2-1 sRGB to CIELAB (as scikit-image gives
it) and CIEDE2000 pairs 1 to 3 of Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1), 21, Table 1.
"""

import numpy as np
import pytest
from skimage.color import lab2xyz

from firstpiece.forecasting.show_through import XYZ_OF_LINEAR, color_difference, linear_rgb

PAIRS = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
]


@pytest.mark.parametrize(("first", "second", "expected"), PAIRS)
def test_published_pairs(first, second, expected):
    """Three published pairs, taken back to linear light and through the model's own path."""
    linear = [np.linalg.solve(XYZ_OF_LINEAR, lab2xyz(np.array(lab))) for lab in (first, second)]
    assert color_difference(*linear) == pytest.approx(expected, abs=1e-4)


def test_black_and_white():
    """L* 0 and 100 are 100 apart (ICC HDR working group sheet 2020)."""
    assert color_difference(np.zeros(3), np.ones(3)) == pytest.approx(100.0, abs=0.02)


def test_mid_grey_is_not_half():
    """sRGB code 188 is about half the light (IEC 61966-2-1), 128 about a fifth."""
    assert linear_rgb((188, 188, 188))[0] == pytest.approx(0.5029, abs=1e-3)
    assert linear_rgb((128, 128, 128))[0] == pytest.approx(0.2159, abs=1e-3)
