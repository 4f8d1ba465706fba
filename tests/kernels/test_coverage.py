"""The layer count against a slow obvious twin, against exact areas and on odd input."""

import math

import numpy as np
import pytest
import shapely

from firstpiece.kernels.coverage import (
    Grid,
    close_ends,
    close_ends_in,
    count_layers,
    recount_layers,
)


def sampling_points(grid):
    rows, cols = np.mgrid[0 : grid.n_rows, 0 : grid.n_cols]
    right = 0.5 + grid.scatter * ((0.5 + 0.7548776662466927 * rows) % 1.0 - 0.5)
    down = 0.5 + grid.scatter * ((0.5 + 0.5698402909980532 * rows) % 1.0 - 0.5)
    x = grid.left_mm + (cols + right) * grid.pixel_mm
    y = grid.top_mm - (rows + down) * grid.pixel_mm
    return x, y


def count_layers_slowly(segments, half_width, grid):
    """The twin: every piece tested against every sampling point by dot products."""
    x, y = sampling_points(grid)
    layers = np.zeros(x.shape, dtype=np.uint16)
    for (x0, y0, x1, y1), half in zip(segments, half_width, strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        if length == 0:
            continue
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        along = (x - x0) * ux + (y - y0) * uy
        across = (y - y0) * ux - (x - x0) * uy
        layers += (along >= 0) & (along <= length) & (np.abs(across) <= half)
    return layers


def close_ends_slowly(layers, ends, half_width, grid):
    x, y = sampling_points(grid)
    closed = layers.copy()
    for (end_x, end_y), half in zip(ends, half_width, strict=True):
        disc = np.hypot(x - end_x, y - end_y) <= half
        closed[disc & (closed == 0)] = 1
    return closed


@pytest.fixture
def scattered():
    generator = np.random.default_rng(7)
    segments = generator.uniform(-7.0, 7.0, (200, 4))
    segments[::5, 3] = segments[::5, 1]  # level pieces
    segments[1::5, 2] = segments[1::5, 0]  # upright pieces
    return segments, generator.uniform(0.02, 0.6, 200)


@pytest.mark.parametrize("scatter", [0.0, 1.0])
def test_agrees_with_the_slow_twin(scattered, scatter):
    segments, half = scattered
    grid = Grid(-5.0, 5.0, 0.0731, 137, 120, scatter)
    fast = count_layers(segments, half, grid)
    slow = count_layers_slowly(segments, half, grid)
    assert fast.dtype == np.uint16
    # Only a centre within rounding of an edge may fall either way.
    assert np.count_nonzero(fast != slow) <= 2
    assert fast.max() > 3


@pytest.mark.parametrize("scatter", [0.0, 1.0])
def test_ends_agree_with_the_slow_twin(scattered, scatter):
    segments, half = scattered
    grid = Grid(-5.0, 5.0, 0.0731, 137, 120, scatter)
    layers = count_layers(segments[:10], half[:10], grid)
    expected = close_ends_slowly(layers, segments[:, :2], half, grid)
    close_ends(layers, np.ascontiguousarray(segments[:, :2]), half, grid)
    assert np.count_nonzero(layers != expected) <= 2


def test_row_zero_is_the_top():
    grid = Grid(0.0, 3.0, 1.0, 3, 3)
    layers = count_layers(np.array([[0.0, 2.5, 3.0, 2.5]]), np.array([0.4]), grid)
    assert layers.tolist() == [[1, 1, 1], [0, 0, 0], [0, 0, 0]]


def test_area_of_layers_is_the_ribbon_area(scattered):
    segments, half = scattered
    inside = np.clip(segments, -4.0, 4.0)
    grid = Grid(-6.0, 6.0, 0.02, 600, 600)
    layers = count_layers(inside, half, grid)
    ribbon = (2 * half * np.hypot(*(inside[:, 2:] - inside[:, :2]).T)).sum()
    assert layers.sum() * grid.pixel_mm**2 == pytest.approx(ribbon, rel=2e-3)


def test_union_is_the_area_shapely_finds(scattered):
    segments, half = scattered
    inside = np.clip(segments[:60], -4.0, 4.0)
    grid = Grid(-6.0, 6.0, 0.02, 600, 600)
    layers = count_layers(inside, half[:60], grid)
    ribbons = [
        shapely.LineString(s.reshape(2, 2)).buffer(h, cap_style="flat")
        for s, h in zip(inside, half, strict=False)
    ]
    union = shapely.unary_union(ribbons).area
    assert np.count_nonzero(layers) * grid.pixel_mm**2 == pytest.approx(union, rel=2e-3)


@pytest.mark.parametrize(
    "segments",
    [
        np.empty((0, 4)),
        np.array([[1.0, 1.0, 1.0, 1.0]]),
        np.array([[50.0, 50.0, 60.0, 50.0]]),
    ],
    ids=["none", "no length", "outside"],
)
def test_nothing_lies_where_no_thread_is(segments):
    layers = count_layers(segments, np.full(len(segments), 0.2), Grid(0.0, 2.0, 0.1, 20, 20))
    assert layers.shape == (20, 20)
    assert not layers.any()


def test_empty_raster():
    layers = count_layers(np.ones((1, 4)), np.ones(1), Grid(0.0, 0.0, 0.1, 0, 0))
    assert layers.shape == (0, 0)


def test_pieces_that_run_on_count_once_between_centres():
    grid = Grid(0.0, 1.0, 0.1, 10, 40)
    pieces = np.array([[0.0, 0.55, 1.98, 0.55], [1.98, 0.55, 4.0, 0.55]])
    layers = count_layers(pieces, np.array([0.2, 0.2]), grid)
    assert layers.max() == 1


def test_scattered_rows_see_gaps_that_the_pixel_divides():
    # Rows 0.4 mm apart leave gaps of 0.05 mm; pixels of 0.1 mm meet every row at one phase.
    heights = 0.013 + np.arange(0.0, 40.0, 0.4)
    rows = np.column_stack([np.zeros_like(heights), heights, np.full_like(heights, 4.0), heights])
    half = np.full(len(rows), 0.175)

    def share(scatter):
        grid = Grid(0.0, 39.0, 0.1, 380, 40, scatter)
        return float((count_layers(rows, half, grid) > 0).mean())

    assert share(0.0) in (0.75, 1.0)
    assert share(1.0) == pytest.approx(0.35 / 0.4, abs=0.01)


@pytest.mark.parametrize("window", [(0, 60, 0, 80), (10, 31, 20, 47), (5, 5, 0, 80)])
def test_a_window_counted_again_is_what_the_whole_would_be(scattered, window):
    segments, half = scattered
    grid = Grid(-3.0, 3.0, 0.1, 60, 80, 1.0)

    def whole(pieces, widths):
        layers = count_layers(pieces, widths, grid)
        close_ends(layers, np.ascontiguousarray(pieces[:, :2]), widths, grid)
        return layers

    after = whole(segments, half)
    layers = whole(segments[::2].copy(), half[::2].copy())
    recount_layers(layers, segments, half, grid, window)
    close_ends_in(layers, np.ascontiguousarray(segments[:, :2]), half, grid, window)
    inside = np.s_[window[0] : window[1], window[2] : window[3]]
    np.testing.assert_array_equal(layers[inside], after[inside])
