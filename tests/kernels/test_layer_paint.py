"""Painted layers and difference maps against numpy and scikit-image."""

import numpy as np
from skimage.color import deltaE_ciede2000

from firstpiece.kernels.layer_paint import difference_map, paint_layers


def paint_slowly(labels, layers, table, block):
    index = np.where(labels < 0, table.shape[1] - 1, labels)
    count = np.minimum(layers, table.shape[2] - 1)
    full = table[:, index, count]
    rows, cols = labels.shape[0] // block, labels.shape[1] // block
    cut = full[:, : rows * block, : cols * block]
    return cut.reshape(3, rows, block, cols, block).mean(axis=(2, 4))


def test_painting_is_a_look_up_and_a_mean():
    generator = np.random.default_rng(5)
    labels = generator.integers(-1, 3, (23, 31)).astype(np.int32)
    layers = generator.integers(0, 9, (23, 31)).astype(np.uint16)
    table = generator.random((3, 4, 5)).astype(np.float32)
    for block in (1, 2, 4):
        np.testing.assert_allclose(
            paint_layers(labels, layers, table, block),
            paint_slowly(labels, layers, table, block),
            rtol=1e-5,
        )


def test_nothing_to_paint():
    empty = np.zeros((0, 0), np.int32), np.zeros((0, 0), np.uint16)
    table = np.zeros((3, 1, 1), np.float32)
    assert paint_layers(*empty, table, 2).shape == (3, 0, 0)
    assert difference_map(np.zeros((0, 3), np.float32), np.zeros((0, 3), np.float32)).size == 0


def test_differences_agree_with_scikit_image():
    generator = np.random.default_rng(6)
    first, second = (
        (generator.random((200, 3)) * [100, 160, 160] - [0, 80, 80]).astype(np.float32)
        for _ in range(2)
    )
    second[::7] = first[::7]
    np.testing.assert_allclose(
        difference_map(first, second), deltaE_ciede2000(first, second), atol=2e-3
    )
    assert (difference_map(first, second)[::7] == 0).all()
