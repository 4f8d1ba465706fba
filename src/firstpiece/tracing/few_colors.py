"""The colours of a drawing made few: ones that look alike, or too many, become one.

Input: exact colours and the area each shows. Output: for each colour the one that stands for it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import RGB

ALIKE = 3.0
"""Colours that differ by less (CIEDE2000) are taken for one; about 1 is just seen."""

MOST_COLORS = 14


def merge_colors(
    colors: tuple[RGB, ...], areas: NDArray[np.float64], *, n_colors: int | None
) -> NDArray[np.int64]:
    """Return for each colour the index of the colour that stands for it.

    Parameters
    ----------
    colors : tuple of RGB
    areas : (k,) float64
        Area each shows; colours that show none follow the nearest one.
    n_colors : int or None
        Wanted number; None merges what looks alike and keeps at most ``MOST_COLORS``.

    Returns
    -------
    (k,) int64
        A group is named by its member of the largest area, so painted colours stay exact.
    """
    most = n_colors or MOST_COLORS
    alike = 0.0 if n_colors else ALIKE
    lab = srgb_to_lab(np.array(colors, dtype=np.float64))
    stands_for = np.arange(len(colors))
    mean, weight = lab.copy(), np.maximum(areas, 1e-9)
    table = ciede2000(lab, lab)
    np.fill_diagonal(table, np.inf)
    n_left = len(colors)
    while n_left > 1:
        # Ward's rule for the choice: a small area joins before two large ones do.
        i, j = _closest(table, weight, use_weight=n_left > most)
        if n_left <= most and table[i, j] >= alike:
            break
        if weight[j] > weight[i]:
            i, j = j, i
        total = weight[i] + weight[j]
        mean[i] = (weight[i] * mean[i] + weight[j] * mean[j]) / total
        weight[i] = total
        stands_for[stands_for == j] = i
        table[j], table[:, j] = np.inf, np.inf
        is_left = np.isfinite(table[i]) & (np.arange(len(colors)) != i)
        row = ciede2000(mean[i : i + 1], mean)[0]
        table[i] = table[:, i] = np.where(is_left, row, np.inf)
        n_left -= 1
    return stands_for


def _closest(
    table: NDArray[np.float64], weight: NDArray[np.float64], *, use_weight: bool
) -> tuple[int, int]:
    cost = table
    if use_weight:
        lesser = np.minimum(weight[:, None], weight[None, :])
        cost = table * (lesser / weight.max()) ** 0.25
    i, j = np.unravel_index(int(cost.argmin()), cost.shape)
    return int(i), int(j)
