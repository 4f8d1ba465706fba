"""Labels made smooth: each pixel takes the colour that fits it and its neighbours best.

Input: a picture in CIELAB, a palette and first labels. Output: labels at a local minimum of a
Potts energy, found by iterated conditional modes (ICM).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numba import njit

if TYPE_CHECKING:
    from numpy.typing import NDArray


@njit(cache=True)
def nearest_color(lab: NDArray[np.float32], palette: NDArray[np.float32]) -> NDArray[np.int32]:
    """Return for each pixel the palette entry at the smallest CIELAB distance.

    Parameters
    ----------
    lab : (h, w, 3) float32
    palette : (k, 3) float32
        At least one colour; equal distances go to the lower index.

    Returns
    -------
    (h, w) int32
    """
    n_rows, n_cols = lab.shape[:2]
    labels = np.empty((n_rows, n_cols), dtype=np.int32)
    for y in range(n_rows):
        for x in range(n_cols):
            best, choice = np.inf, 0
            for k in range(palette.shape[0]):
                cost = 0.0
                for c in range(3):
                    cost += (lab[y, x, c] - palette[k, c]) ** 2
                if cost < best:
                    best, choice = cost, k
            labels[y, x] = choice
    return labels


@njit(cache=True)
def relax_labels(
    lab: NDArray[np.float32],
    palette: NDArray[np.float32],
    labels: NDArray[np.int32],
    stiffness: float,
    rounds: int,
) -> NDArray[np.int32]:
    """Return labels that lower Σ|lab − palette|² + stiffness · Σ(unlike neighbours).

    Parameters
    ----------
    lab : (h, w, 3) float32
    palette : (k, 3) float32
    labels : (h, w) int32
        First guess.
    stiffness : float
        Cost of one unlike neighbour, in squared CIELAB units; diagonal neighbours cost 1/√2.
    rounds : int
        Largest number of sweeps; stops early when nothing changes.

    Returns
    -------
    (h, w) int32

    References
    ----------
    Besag 1986, On the statistical analysis of dirty pictures, J. R. Stat. Soc. B 48, 259–302.
    """
    out = labels.copy()
    near = np.empty(8, dtype=np.int32)
    weight = np.empty(8)
    for _ in range(rounds):
        n_changed = 0
        for y in range(out.shape[0]):
            for x in range(out.shape[1]):
                n_near = _neighbours(out, y, x, near, weight)
                if n_near == 0:
                    continue
                old = out[y, x]
                out[y, x] = _best_label(lab[y, x], palette, old, near, weight, n_near, stiffness)
                n_changed += out[y, x] != old
        if n_changed == 0:
            break
    return out


@njit(cache=True)
def _neighbours(
    labels: NDArray[np.int32],
    y: int,
    x: int,
    near: NDArray[np.int32],
    weight: NDArray[np.float64],
) -> int:
    """Write the labels around a pixel and their weights; 0 when all are the pixel's own."""
    n_near = 0
    is_mixed = False
    for j in range(max(0, y - 1), min(labels.shape[0], y + 2)):
        for i in range(max(0, x - 1), min(labels.shape[1], x + 2)):
            if i == x and j == y:
                continue
            near[n_near] = labels[j, i]
            weight[n_near] = 1.0 if i == x or j == y else 0.7071067811865476
            is_mixed = is_mixed or labels[j, i] != labels[y, x]
            n_near += 1
    return n_near if is_mixed else 0


@njit(cache=True)
def _best_label(  # noqa: PLR0913 (a kernel's plain arguments)
    color: NDArray[np.float32],
    palette: NDArray[np.float32],
    old: int,
    near: NDArray[np.int32],
    weight: NDArray[np.float64],
    n_near: int,
    stiffness: float,
) -> int:
    """Return the pixel's label or the neighbour's that costs least; ties keep the old."""
    choice = old
    best = _pixel_cost(color, palette, choice, near, weight, n_near, stiffness)
    for t in range(n_near):
        if near[t] != choice:
            cost = _pixel_cost(color, palette, near[t], near, weight, n_near, stiffness)
            if cost < best:
                best, choice = cost, near[t]
    return choice


@njit(cache=True)
def _pixel_cost(  # noqa: PLR0913 (a kernel's plain arguments)
    color: NDArray[np.float32],
    palette: NDArray[np.float32],
    choice: int,
    near: NDArray[np.int32],
    weight: NDArray[np.float64],
    n_near: int,
    stiffness: float,
) -> float:
    cost = 0.0
    for c in range(3):
        cost += float(color[c] - palette[choice, c]) ** 2
    for t in range(n_near):
        if near[t] != choice:
            cost += stiffness * weight[t]
    return cost
