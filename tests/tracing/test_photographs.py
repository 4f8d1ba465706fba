"""Photographs that come with scikit-image are refused; its silhouette of a horse is not."""

import pytest
from skimage import data
from tests.tracing.art import pixels_art, trace

from firstpiece.errors import PictureError


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "rocket", "camera", "coins"])
def test_photographs_are_refused(name):
    pixels = getattr(data, name)()
    rgb = pixels if pixels.ndim == 3 else pixels[:, :, None].repeat(3, axis=2)
    with pytest.raises(PictureError, match="photograph"):
        trace(pixels_art(rgb))


def test_a_silhouette_is_not():
    horse = data.horse()
    region_map = trace(pixels_art((horse[:, :, None].repeat(3, axis=2) * 255).astype("uint8")))
    assert "black" in {match.thread.name for match in region_map.matches}
