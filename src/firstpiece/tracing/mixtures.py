"""Colours that only soft edges made, and thin rims of them, found and shared out.

Blur, drawing programs and JPEG leave in-between colours along every edge. A colour that hardly
ever fills an area, and lies between two colours that it touches, is such a mixture.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab
from firstpiece.kernels.label_relax import nearest_color
from firstpiece.model.region import BARE
from firstpiece.tracing.components import contacts, edge_distance, label_components

if TYPE_CHECKING:
    from numpy.typing import NDArray

MIX_TOLERANCE_LAB = 20.0
LEAST_CORE_SHARE = 0.3
LEAST_CONTACT = 0.1
TINT = 12.0
"""A colour without core this close (CIEDE2000) to one it touches is a tint that JPEG left."""


def prune_palette(
    lab: NDArray[np.float32],
    palette: NDArray[np.float32],
    labels: NDArray[np.int32],
    *,
    core_px: float,
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Return the palette without mixtures and the labels that use it.

    Parameters
    ----------
    lab : (h, w, 3) float32
    palette : (k, 3) float32
    labels : (h, w) int32
        No bare pixels yet.
    core_px : float [px]
        Pixels this far from every edge show a colour unmixed.

    Returns
    -------
    palette : (m, 3) float32
        Colours that are left, each the median of its unmixed pixels.
    labels : (h, w) int32
    """
    while len(palette) > 1:
        n_pixels, n_core, touch = _measure(labels, len(palette), core_px)
        is_mixture = _mixtures(palette, n_pixels, n_core, touch)
        if not is_mixture.any():
            break
        kept = np.flatnonzero(~is_mixture)
        new_number = np.cumsum(~is_mixture) - 1
        homeless = is_mixture[labels]
        palette = np.ascontiguousarray(palette[kept])
        nearest = nearest_color(np.ascontiguousarray(lab[homeless][None]), palette)[0]
        labels = new_number[labels].astype(np.int32)
        labels[homeless] = nearest
    return _core_medians(lab, palette, labels, core_px), labels


def _measure(
    labels: NDArray[np.int32], n_colors: int, core_px: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Pixels and core pixels of each colour, and pixel sides that each pair shares."""
    n_pixels = np.bincount(labels.ravel(), minlength=n_colors)
    core = edge_distance(labels) > core_px
    n_core = np.bincount(labels[core], minlength=n_colors)
    touch = np.zeros((n_colors, n_colors), dtype=np.int64)
    color, other, sides = contacts(labels)
    touch[color, other] = sides
    return n_pixels, n_core, touch


def _mixtures(
    palette: NDArray[np.float32],
    n_pixels: NDArray[np.int64],
    n_core: NDArray[np.int64],
    touch: NDArray[np.int64],
) -> NDArray[np.bool_]:
    """Which colours are mixtures or tints of colours with more core that they touch."""
    difference = ciede2000(palette.astype(np.float64), palette.astype(np.float64))
    is_mixture: NDArray[np.bool_] = n_pixels == 0
    near = touch >= LEAST_CONTACT * np.maximum(touch.sum(axis=1, keepdims=True), 1)
    for k in np.argsort(n_core, kind="stable").tolist():
        if is_mixture[k] or n_core[k] >= LEAST_CORE_SHARE * n_pixels[k]:
            continue
        sources = _sources(k, near & ~is_mixture, n_core)
        if not len(sources):
            continue
        a, b = (side.ravel() for side in np.meshgrid(sources, sources))
        own = np.full(len(a), k)
        between = _lies_between(palette, own, a, b).any()
        is_mixture[k] = between or difference[k, sources].min() < TINT
    if is_mixture.all():
        is_mixture[int(n_pixels.argmax())] = False
    return is_mixture


def _sources(color: int, near: NDArray[np.bool_], n_core: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the colours with more core that a colour touches, itself or through lesser ones.

    A wide soft edge is a row of mixtures: the middle ones touch neither of the two sides.
    """
    reached = np.zeros(len(n_core), dtype=bool)
    reached[color] = True
    pending = [color]
    while pending:
        found = np.flatnonzero(near[pending.pop()] & ~reached)
        reached[found] = True
        pending += found[n_core[found] <= n_core[color]].tolist()
    sources: NDArray[np.int64] = np.flatnonzero(reached & (n_core > n_core[color]))
    return sources


def _core_medians(
    lab: NDArray[np.float32],
    palette: NDArray[np.float32],
    labels: NDArray[np.int32],
    core_px: float,
) -> NDArray[np.float32]:
    """Each colour as the median of its pixels away from edges, where it has enough of them."""
    out = palette.copy()
    core = edge_distance(labels) > core_px
    found, colors = labels[core], lab[core]
    for k in range(len(palette)):
        own = colors[found == k]
        if len(own) >= 20:
            out[k] = np.median(own, axis=0)
    return out


def dissolve_rims(
    labels: NDArray[np.int32],
    codes: NDArray[np.float32],
    colors: NDArray[np.float32],
    palette: NDArray[np.float32],
    *,
    widest_px: float,
) -> NDArray[np.int32]:
    """Return the map with thin in-between parts shared out at the half-way colour.

    Parameters
    ----------
    labels : (h, w) int32
        Palette index, or BARE.
    codes : (h, w, 3) float32
    colors : (k, 3) float32
        The picture and the palette on the scale that soft edges mix in.
    palette : (k, 3) float32
        CIELAB.
    widest_px : float [px]
        Wider parts stay.

    Returns
    -------
    (h, w) int32
    """
    out = labels.copy()
    # A wide soft edge is several rims side by side; each round takes the outer ones.
    for _ in range(3):
        # A rim may hang on a solid area of its colour, so thin parts are looked at by themselves.
        code = (out - BARE) * 2 + is_thin(out, widest_px / 2.0)
        parts, code_of = label_components(code.astype(np.int32))
        own = code_of // 2 + BARE
        beside = _beside(parts, own)
        a, b = beside[:, 0], beside[:, 1]
        # Beside bare cloth every thin area keeps its colour: there is no mixture with nothing.
        is_rim = (code_of % 2 == 1) & (own >= 0) & (a >= 0) & (b >= 0)
        is_rim[is_rim] = _lies_between(palette, own[is_rim], a[is_rim], b[is_rim])
        if not is_rim.any():
            break
        where = is_rim[parts]
        first, second = a[parts[where]], b[parts[where]]
        to_first = ((codes[where] - colors[first]) ** 2).sum(axis=1)
        to_second = ((codes[where] - colors[second]) ** 2).sum(axis=1)
        out[where] = np.where(to_first <= to_second, first, second)
    return out


def is_thin(labels: NDArray[np.int32], radius_px: float) -> NDArray[np.bool_]:
    """Return the pixels that no circle of this radius inside their area covers (an opening).

    Parameters
    ----------
    labels : (h, w) int32
    radius_px : float [px]

    Returns
    -------
    (h, w) bool
    """
    core = edge_distance(labels) > radius_px
    if not core.any():
        return np.ones(labels.shape, dtype=bool)
    distance, nearest = cv2.distanceTransformWithLabels(
        (~core).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    owner = np.zeros(int(nearest.max()) + 1, dtype=np.int32)
    owner[nearest[core]] = labels[core]
    covered = (distance <= radius_px + 0.5) & (owner[nearest] == labels)
    return ~np.asarray(covered, dtype=bool)


def _beside(parts: NDArray[np.int32], label_of: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return the two other labels that most of each part's edge touches, or -2 if not two.

    The lesser of them must hold at least a fifth of the edge.
    """
    n = len(label_of)
    n_labels = max(int(label_of.max()) + 2, 2)
    part, other, sides = contacts(parts)
    table = np.zeros((n, n_labels), dtype=np.int64)
    np.add.at(table, (part, label_of[other] + 1), sides)
    total = np.maximum(table.sum(axis=1), 1)
    table[np.arange(n), label_of + 1] = 0
    order = np.argsort(-table, axis=1, kind="stable")[:, :2]
    enough = table[np.arange(n), order[:, 1]] >= 0.2 * total
    beside: NDArray[np.int32] = np.where(enough[:, None], order - 1, -2).astype(np.int32)
    return beside


def _lies_between(
    palette: NDArray[np.float32],
    own: NDArray[np.integer],
    a: NDArray[np.integer],
    b: NDArray[np.integer],
) -> NDArray[np.bool_]:
    """Whether the own colour is near a mixture of the two, mixed as blur mixes: in sRGB codes."""
    rgb = cv2.cvtColor(palette[None], cv2.COLOR_LAB2RGB)[0].astype(np.float64) * 255.0
    step = rgb[b] - rgb[a]
    length2 = np.maximum((step**2).sum(axis=1), 1e-9)
    share = ((rgb[own] - rgb[a]) * step).sum(axis=1) / length2
    mixed = srgb_to_lab(rgb[a] + share[:, None] * step)
    off = np.sqrt(((mixed - palette[own]) ** 2).sum(axis=1))
    mask: NDArray[np.bool_] = (share > 0.0) & (share < 1.0) & (off <= MIX_TOLERANCE_LAB)
    return mask
