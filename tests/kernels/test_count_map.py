"""Labels and tallies against shapely, numpy and scipy."""

import numpy as np
import pytest
import shapely
from scipy import ndimage
from tests.kernels.test_coverage import sampling_points

from firstpiece.forecasting.cover_map import label_polygons
from firstpiece.kernels.count_map import block_means, label_areas, tally_gaps, tally_layers
from firstpiece.kernels.coverage import Grid

RING = shapely.Point(3, 3).buffer(2.5).difference(shapely.Point(3, 3).buffer(1.2))
SHAPES = [RING, shapely.Point(3, 3).buffer(1.0), shapely.box(-9, 5.6, 30, 5.9)]


@pytest.mark.parametrize("scatter", [0.0, 1.0])
def test_labels_are_the_areas_shapely_finds(scatter):
    grid = Grid(0.0, 6.0, 0.0437, 137, 137, scatter)
    x, y = sampling_points(grid)
    expected = np.full(x.shape, -1)
    for k, shape in enumerate(SHAPES):
        expected[shapely.contains_xy(shape, x, y)] = k
    np.testing.assert_array_equal(label_polygons(SHAPES, grid), expected)


def test_neighbours_share_their_edge_without_gap_or_overlap():
    left, right = shapely.box(0, 0, 2, 4), shapely.box(2, 0, 4, 4)
    labels = label_polygons([left, right], Grid(0.0, 4.0, 0.1, 40, 40))
    assert np.bincount(labels.ravel() + 1, minlength=3).tolist() == [0, 800, 800]


def test_no_areas():
    empty = np.zeros((0, 2)), np.zeros(1, np.int64), np.zeros(0, np.int64)
    labels = label_areas(*empty, Grid(0.0, 1.0, 0.1, 10, 12))
    assert labels.shape == (10, 12)
    assert (labels == -1).all()


def test_layers_are_tallied_like_numpy_does():
    generator = np.random.default_rng(3)
    labels = generator.integers(-1, 4, (50, 60)).astype(np.int32)
    layers = generator.integers(0, 9, (50, 60)).astype(np.uint16)
    table = tally_layers(labels, layers, 5, 4)
    for area in range(5):
        own = np.minimum(layers[labels == area], 3)
        assert table[area].tolist() == np.bincount(own, minlength=4).tolist()


def test_gaps_are_tallied_like_scipy_does():
    generator = np.random.default_rng(4)
    labels = generator.integers(-1, 4, (50, 60)).astype(np.int32)
    distance = np.maximum(0, generator.normal(0, 1, (50, 60))).astype(np.float32)
    distance[labels == 2] = 0
    total, place = tally_gaps(labels, distance, 5)
    index = [0, 1, 3]
    np.testing.assert_allclose(total[index], ndimage.sum(distance, labels, index), rtol=1e-5)
    np.testing.assert_array_equal(place[index], ndimage.maximum_position(distance, labels, index))
    assert (place[[2, 4]] == -1).all()
    assert (total[[2, 4]] == 0).all()


@pytest.mark.parametrize(("height", "width", "block"), [(12, 20, 4), (13, 21, 2), (0, 8, 4)])
def test_blocks_are_averaged_like_numpy_does(height, width, block):
    layers = np.random.default_rng(5).integers(0, 4, (height, width)).astype(np.uint16)
    rows, cols = height // block, width // block
    cut = layers[: rows * block, : cols * block].reshape(rows, block, cols, block)
    mean, share = block_means(layers, block)
    np.testing.assert_allclose(mean, cut.mean(axis=(1, 3)), rtol=1e-6)
    np.testing.assert_allclose(share, (cut > 0).mean(axis=(1, 3)), rtol=1e-6)
