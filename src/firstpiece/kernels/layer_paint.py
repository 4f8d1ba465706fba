"""A coloured picture of laid thread: each pixel takes its colour from its area and layer count.

Input: label and layer rasters and a table of colours. Output: the picture, averaged over blocks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

from firstpiece.kernels.color_difference import _difference

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def paint_layers(
    labels: NDArray[np.int32],
    layers: NDArray[np.uint16],
    table: NDArray[np.float32],
    block: int,
) -> NDArray[np.float32]:
    """Return the mean colour of each block of pixels.

    Parameters
    ----------
    labels : (h, w) int32
        Area of each pixel, -1 outside.
    layers : (h, w) uint16
        Threads over each pixel; counts past the table's last take its last.
    table : (c, n + 1, k) float32
        Colour channel by area (the last row stands for outside) and layer count.
    block : int
        Side of a block [px]; a rest at the right and the bottom is left out.

    Returns
    -------
    (c, h // block, w // block) float32
    """
    n_channels, n_rows, last = table.shape[0], labels.shape[0] // block, table.shape[2] - 1
    n_cols = labels.shape[1] // block
    picture = np.zeros((n_channels, n_rows, n_cols), dtype=np.float32)
    share = np.float32(1.0 / (block * block))
    for row in range(n_rows * block):
        for col in range(n_cols * block):
            area = labels[row, col]
            if area < 0:
                area = table.shape[1] - 1
            count = min(int(layers[row, col]), last)
            for channel in range(n_channels):
                picture[channel, row // block, col // block] += table[channel, area, count] * share
    return picture


@njit(cache=True)
def difference_map(first: NDArray[np.float32], second: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the CIEDE2000 difference of two CIELAB pictures, pixel by pixel.

    Parameters
    ----------
    first, second : (n, 3) float32
        CIELAB colours in one order.

    Returns
    -------
    (n,) float32
    """
    found = np.zeros(first.shape[0], dtype=np.float32)
    one, other = np.empty(3), np.empty(3)
    for i in range(first.shape[0]):
        same = True
        for channel in range(3):
            one[channel] = first[i, channel]
            other[channel] = second[i, channel]
            same = same and abs(one[channel] - other[channel]) < 1e-4
        if not same:
            found[i] = _difference(one, other)
    return found
