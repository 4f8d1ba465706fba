"""The sew-out kernels against their slow twin, and on empty and odd input."""

import numpy as np
import pytest
from tests.kernels import sewout_twin as twin

from firstpiece.kernels import cloth_texture as cloth
from firstpiece.kernels.relief_light import Ground, mean_cloth_light, smooth_heights
from firstpiece.kernels.thread_laying import Laid, rest_heights
from firstpiece.kernels.thread_light import Canvas, draw_thread_light, tile_lists
from firstpiece.kernels.thread_sheen import light_thread

WEAVES = [cloth.KNIT, cloth.TWILL, cloth.PLAIN, cloth.TERRY, cloth.FLEECE]


def ground_of(weave, mean_light=0.9):
    return Ground(weave, 1.1, 0.2, mean_light, 0.3, 0.5, 0.8, 0.31)


def scattered_thread(n=40, side=4.0, seed=3):
    """Random pieces, among them level and upright ones, layered."""
    generator = np.random.default_rng(seed)
    ends = generator.uniform(0.0, side, (n, 4))
    ends[::5, 3] = ends[::5, 1]
    ends[1::5, 2] = ends[1::5, 0]
    half = generator.uniform(0.1, 0.25, n)
    length = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    laid = Laid(ends, half, 0.06 * length, generator.uniform(0.0, 0.3, n))
    return laid, generator.uniform(0.0, 1.0, (n, 3)), generator.integers(0, 10**6, n)


def no_thread():
    return Laid(np.zeros((0, 4)), np.zeros(0), np.zeros(0), np.zeros(0))


@pytest.mark.parametrize("weave", WEAVES)
def test_cloth_agrees_with_the_slow_twin(weave):
    x, y = np.meshgrid(np.linspace(-3.0, 4.0, 41), np.linspace(-2.0, 5.0, 37))
    fast = [[cloth.cloth_height(weave, a, b, 1.07) for a, b in zip(*r, strict=True)]
        for r in zip(x, y, strict=True)]  # fmt: skip
    np.testing.assert_allclose(fast, twin.cloth_heights(weave, x, y, 1.07), atol=1e-9)


def test_sheen_agrees_with_the_slow_twin():
    generator = np.random.default_rng(5)
    for seed in range(12):
        axis = tuple(generator.uniform(-3.0, 3.0, 2))
        across = generator.uniform(-0.99, 0.99, 20)
        along = generator.uniform(-0.09, np.hypot(*axis) + 0.09, 20)
        slow = np.array(twin.thread_light(axis, 0.2, 0.15, (across, along), seed))
        fast = np.array(
            [light_thread(axis, 0.2, 0.15, at, seed) for at in zip(across, along, strict=True)]
        )
        np.testing.assert_allclose(fast.T, slow, atol=1e-9)


@pytest.mark.parametrize("weave", [cloth.KNIT, cloth.TWILL])
def test_picture_agrees_with_the_slow_twin(weave):
    laid, rgb, seeds = scattered_thread()
    canvas = Canvas(-0.4, 4.3, 0.1, 47, 51, 2)
    ground = ground_of(weave)
    fast = draw_thread_light(laid, rgb, seeds, ground, canvas)
    slow = twin.draw_slowly(laid, rgb, seeds, ground, canvas)
    # Heights are kept in single precision: a sample at an edge may fall to the other piece.
    differ = np.abs(fast.astype(int) - slow.astype(int)).max(axis=2)
    assert np.mean(differ <= 1) > 0.995
    assert fast.shape == slow.shape == (47, 51, 3)


def test_the_comparison_bites():
    laid, rgb, seeds = scattered_thread()
    canvas = Canvas(-0.4, 4.3, 0.1, 47, 51, 2)
    ground = ground_of(cloth.TWILL)
    fast = draw_thread_light(laid._replace(arch_mm=1.3 * laid.arch_mm), rgb, seeds, ground, canvas)
    slow = twin.draw_slowly(laid, rgb, seeds, ground, canvas)
    differ = np.abs(fast.astype(int) - slow.astype(int)).max(axis=2)
    assert np.mean(differ <= 1) < 0.9


def test_rest_heights_agree_with_the_slow_twin():
    laid, _, _ = scattered_thread(n=120)
    fast = rest_heights(laid.ends_mm, laid.half_mm, 0.0, 0.0, 0.1, np.zeros((42, 42)))
    slow = twin.rest_heights_slowly(laid.ends_mm, laid.half_mm, (0.0, 0.0), 0.1, (42, 42))
    np.testing.assert_allclose(fast, slow, atol=1e-9)
    assert fast.max() > 0.2


def test_smoothing_is_the_mean_of_a_square():
    heights = np.random.default_rng(2).normal(size=(23, 23)).astype(np.float32)
    out = np.empty_like(heights)
    smooth_heights(heights, out, 3)
    np.testing.assert_allclose(
        out, twin.uniform_filter(heights.astype(float), 7, mode="nearest"), atol=1e-5
    )


def test_tile_size_does_not_show():
    """A canvas of one tile and the same canvas seen from another corner give the same pixels."""
    laid, rgb, seeds = scattered_thread(n=60, side=20.0)
    ground = ground_of(cloth.KNIT)
    whole = draw_thread_light(laid, rgb, seeds, ground, Canvas(0.0, 20.0, 0.1, 200, 200, 2))
    part = draw_thread_light(laid, rgb, seeds, ground, Canvas(3.0, 16.0, 0.1, 100, 90, 2))
    seen = whole[40:140, 30:120].astype(int)
    assert np.mean(np.abs(seen - part) <= 1) > 0.999


def test_bare_cloth_and_empty_input():
    canvas = Canvas(0.0, 3.0, 0.1, 30, 30, 2)
    empty_rgb, empty_seeds = np.zeros((0, 3)), np.zeros(0, np.int64)
    bare = draw_thread_light(no_thread(), empty_rgb, empty_seeds, ground_of(cloth.KNIT), canvas)
    slow = twin.draw_slowly(no_thread(), empty_rgb, empty_seeds, ground_of(cloth.KNIT), canvas)
    assert np.abs(bare.astype(int) - slow.astype(int)).max() <= 1
    assert len(rest_heights(np.zeros((0, 4)), np.zeros(0), 0.0, 0.0, 0.1, np.zeros((1, 1)))) == 0


def test_mean_cloth_light_levels_the_cloth():
    """Cloth drawn with its own mean light has its own colour in the mean, in linear light."""
    for weave in WEAVES:
        white = Ground(weave, 1.0, 0.15, 1.0, 1.0, 1.0, 1.0, 0.3)
        level = mean_cloth_light(white, 0.05, 300)
        ground = Ground(weave, 1.0, 0.15, level, 0.2, 0.2, 0.2, 0.3)
        canvas = Canvas(0.0, 0.0, 0.1, 150, 150, 2)
        pixels = draw_thread_light(no_thread(), np.zeros((0, 3)), np.zeros(0, np.int64), ground,
            canvas)  # fmt: skip
        v = pixels / 255.0
        linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
        assert linear.mean() == pytest.approx(0.2, rel=0.03)


def test_tile_lists_hold_every_piece_that_touches():
    laid, _, _ = scattered_thread(n=50, side=12.0)
    canvas = Canvas(0.0, 12.0, 0.1, 120, 120, 2)
    start, piece = tile_lists(laid.ends_mm, 0.5, canvas, 40)
    for t in range(9):
        left, top = (t % 3) * 4.0, 12.0 - (t // 3) * 4.0
        low, high = np.sort(laid.ends_mm[:, [0, 2]], axis=1).T
        down, up = np.sort(laid.ends_mm[:, [1, 3]], axis=1).T
        near = (high > left - 0.5) & (low < left + 4.5) & (up > top - 4.5) & (down < top + 0.5)
        listed = piece[start[t] : start[t + 1]]
        assert set(np.flatnonzero(near)) <= set(listed)
        assert np.all(np.diff(listed) > 0)
