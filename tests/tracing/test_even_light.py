"""Uneven light taken out: painted by a known light, the flat picture must come back."""

import numpy as np
import pytest

from firstpiece.tracing.even_light import even_light


def drawing():
    rgb = np.full((240, 320, 3), 254, dtype=np.uint8)
    rgb[60:180, 40:150] = (200, 40, 40)
    rgb[90:210, 190:290] = (40, 90, 180)
    return rgb


def lit(rgb, darkest):
    y, x = np.mgrid[0 : rgb.shape[0], 0 : rgb.shape[1]] / np.array(rgb.shape[:2])[:, None, None]
    light = 1.0 - (1.0 - darkest) * (0.7 * x + 0.3 * y**2)
    return np.rint(rgb * light[:, :, None] * np.array([1.0, 0.97, 0.9])).astype(np.uint8)


@pytest.mark.parametrize("darkest", [0.85, 0.6])
def test_a_known_light_is_found(darkest):
    flat, unevenness = even_light(lit(drawing(), darkest))
    assert unevenness == pytest.approx(1.0 - darkest, abs=0.05)
    paper = flat[:50].astype(int)
    assert np.abs(paper - 254).max() <= 4
    for rows, cols in ((slice(64, 176), slice(44, 146)), (slice(94, 206), slice(194, 286))):
        spread = np.ptp(flat[rows, cols].astype(int), axis=(0, 1))
        assert (spread <= 12).all(), spread


def test_even_pictures_are_left_alone():
    rgb = drawing()
    out, unevenness = even_light(rgb)
    assert unevenness == 0.0
    np.testing.assert_array_equal(out, rgb)


def test_pictures_without_paper_are_left_alone():
    rgb = lit(np.full((100, 100, 3), (10, 90, 40), dtype=np.uint8), 0.5)
    out, unevenness = even_light(rgb)
    assert unevenness == 0.0
    np.testing.assert_array_equal(out, rgb)


@pytest.mark.parametrize("shape", [(1, 1), (1, 40), (40, 2), (9, 9)])
def test_tiny_pictures(shape):
    out, _ = even_light(np.full((*shape, 3), 250, dtype=np.uint8))
    assert out.shape == (*shape, 3)
