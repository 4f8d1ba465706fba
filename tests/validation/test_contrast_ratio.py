"""Contrast of two colours: W3C, Web Content Accessibility Guidelines 2.2, contrast ratio: black on
white is 21:1; #767676 on white is the lightest grey that passes 4.5:1 and #949494 the lightest that
passes 3:1 (well-known examples of the working group's understanding documents, from memory)."""

import pytest

from firstpiece.forecasting.colourways import luminance_contrast


def test_black_on_white():
    """Black on white is 21:1, either way round."""
    assert luminance_contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert luminance_contrast((255, 255, 255), (0, 0, 0)) == pytest.approx(21.0)


@pytest.mark.parametrize(("grey", "limit"), [(0x76, 4.5), (0x94, 3.0)])
def test_lightest_passing_greys(grey, limit):
    """The lightest passing grey passes, the next does not."""
    white = (255, 255, 255)
    assert luminance_contrast((grey,) * 3, white) >= limit
    assert luminance_contrast((grey + 1,) * 3, white) < limit
