"""The few flat colours a picture was made of, found where it is flat.

Input: a denoised picture in CIELAB and how steep it is at each pixel. Output: palette colours,
most used first. Edge pixels are mixtures of their neighbours and hardly count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.color_difference import ciede2000

if TYPE_CHECKING:
    from numpy.typing import NDArray

BIN_LAB = 3.0
SEED_REACH_LAB = 4.0
WIDEST_REACH_LAB = 9.0
MOST_SEEDS = 40
SMALLEST_SHARE = 0.0004
"""A colour on less of the picture's flat part than this is not looked for."""


def find_palette(
    lab: NDArray[np.float32],
    flatness: NDArray[np.float32],
    *,
    least_difference: float,
    grain: float = 0.0,
    n_colors: int | None = None,
) -> NDArray[np.float32]:
    """Return the palette.

    Parameters
    ----------
    lab : (n, 3) float32
        CIELAB of the pixels that count.
    flatness : (n,) float32
        1 in flat areas, near 0 on edges.
    least_difference : float
        Colours closer than this (CIEDE2000) are one.
    grain : float
        Noise of lightness: the noisier, the wider one colour spreads.
    n_colors : int or None
        Wanted number; None keeps all that differ enough.

    Returns
    -------
    (k, 3) float32
        CIELAB, most used first; at least one.
    """
    colors, weights = _histogram(lab, flatness)
    seeds = _seeds(colors, weights, min(SEED_REACH_LAB + 2.5 * grain, WIDEST_REACH_LAB))
    palette, shares = _settle(colors, weights, seeds)
    return _merge_alike(palette, shares, least_difference, n_colors)


def _histogram(
    lab: NDArray[np.float32], flatness: NDArray[np.float32]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean colour and weight of each occupied bin of CIELAB, heaviest first."""
    cell = np.floor(lab / BIN_LAB).astype(np.int64) + 64
    key = (cell[:, 0] << 16) | (cell[:, 1] << 8) | cell[:, 2]
    bins, which = np.unique(key, return_inverse=True)
    weights = np.bincount(which, weights=flatness, minlength=len(bins))
    sums = np.stack(
        [np.bincount(which, weights=flatness * lab[:, c], minlength=len(bins)) for c in range(3)], 1
    )
    colors = sums / np.maximum(weights, 1e-12)[:, None]
    order = np.argsort(-weights, kind="stable")
    return colors[order], weights[order].astype(np.float64)


def _seeds(
    colors: NDArray[np.float64], weights: NDArray[np.float64], reach: float
) -> NDArray[np.float64]:
    """Peaks of the histogram: each takes in the lighter bins within its reach."""
    total = weights.sum()
    free = np.ones(len(colors), dtype=bool)
    seeds: list[NDArray[np.float64]] = []
    while free.any() and len(seeds) < MOST_SEEDS:
        peak = int(np.argmax(np.where(free, weights, -1.0)))
        near = ((colors - colors[peak]) ** 2).sum(axis=1) < reach**2
        taken = weights[near & free].sum()
        free &= ~near
        if taken >= SMALLEST_SHARE * total or not seeds:
            seeds.append(colors[peak])
    return np.array(seeds)


def _settle(
    colors: NDArray[np.float64],
    weights: NDArray[np.float64],
    seeds: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """k-means over the bins from the seeds; returns the centres and their share of weight."""
    palette = seeds.copy()
    for _ in range(6):
        nearest = ((colors[:, None] - palette[None]) ** 2).sum(axis=2).argmin(axis=1)
        total = np.bincount(nearest, weights=weights, minlength=len(palette))
        for c in range(3):
            sums = np.bincount(nearest, weights=weights * colors[:, c], minlength=len(palette))
            palette[:, c] = np.where(total > 0, sums / np.maximum(total, 1e-12), palette[:, c])
    nearest = ((colors[:, None] - palette[None]) ** 2).sum(axis=2).argmin(axis=1)
    shares = np.bincount(nearest, weights=weights, minlength=len(palette))
    return palette, shares / max(shares.sum(), 1e-12)


def _merge_alike(
    palette: NDArray[np.float64],
    shares: NDArray[np.float64],
    least_difference: float,
    n_colors: int | None,
) -> NDArray[np.float32]:
    """Merge the closest two colours until all differ enough and no more than wanted are left."""
    palette, shares = palette.copy(), shares.copy()
    while len(palette) > 1:
        table = ciede2000(palette, palette)
        np.fill_diagonal(table, np.inf)
        i, j = np.unravel_index(int(table.argmin()), table.shape)
        enough = len(palette) <= n_colors if n_colors else table[i, j] >= least_difference
        if enough:
            break
        total = max(shares[i] + shares[j], 1e-12)
        palette[i] = (shares[i] * palette[i] + shares[j] * palette[j]) / total
        shares[i] = total
        palette, shares = np.delete(palette, j, axis=0), np.delete(shares, j)
    order = np.argsort(-shares, kind="stable")
    return np.ascontiguousarray(palette[order], dtype=np.float32)
