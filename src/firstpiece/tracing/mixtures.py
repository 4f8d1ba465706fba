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
SOLID_CORES = 2.0
LEAST_SOLID_PX = 12
"""A colour with so many pixels this many cores deep is painted, however thin its other parts."""

LEAST_EVEN_SHARE = 0.1
EXPLAINED_SHARE = 0.7
TINT = 12.0
"""A colour without core this close (CIEDE2000) to one beside it is a tint that JPEG left."""


def prune_palette(
    lab: NDArray[np.float32],
    palette: NDArray[np.float32],
    labels: NDArray[np.int32],
    is_even: NDArray[np.bool_],
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
    is_even : (h, w) bool
        Pixels like all their neighbours: no soft edge made them.
    core_px : float [px]
        Pixels this far from every edge show a colour unmixed.

    Returns
    -------
    palette : (m, 3) float32
        Colours that are left, each the median of its unmixed pixels.
    labels : (h, w) int32
    """
    while len(palette) > 1:
        is_mixture = _mixtures(palette, labels, is_even, core_px)
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


def _mixtures(
    palette: NDArray[np.float32],
    labels: NDArray[np.int32],
    is_even: NDArray[np.bool_],
    core_px: float,
) -> NDArray[np.bool_]:
    """Which colours are made by soft edges alone: without core, and explained where they lie."""
    k = len(palette)
    n_pixels = np.bincount(labels.ravel(), minlength=k)
    depth = edge_distance(labels)
    n_core = np.bincount(labels[depth > core_px], minlength=k)
    n_solid = np.bincount(labels[depth > SOLID_CORES * core_px], minlength=k)
    n_even = np.bincount(labels[is_even], minlength=k)
    is_mixture: NDArray[np.bool_] = n_pixels == 0
    painted = (n_core >= LEAST_CORE_SHARE * n_pixels) | (n_solid >= LEAST_SOLID_PX)
    painted |= n_even >= np.maximum(LEAST_EVEN_SHARE * n_pixels, LEAST_SOLID_PX)
    near: dict[int, NDArray[np.uint8]] = {}
    for own in np.argsort(n_core, kind="stable").tolist():
        if is_mixture[own] or painted[own]:
            continue
        sources = np.flatnonzero(~is_mixture & (n_core > n_core[own])).tolist()
        for label in sources:
            if label not in near:
                near[label] = _near(labels == label, round(2.0 * core_px))
        explained = _explained(palette, own, sources, near)
        is_mixture[own] = (explained[labels == own] > 0).mean() >= EXPLAINED_SHARE
    if is_mixture.all():
        is_mixture[int(n_pixels.argmax())] = False
    return is_mixture


def _near(mask: NDArray[np.bool_], reach: int) -> NDArray[np.uint8]:
    size = 2 * reach + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    return np.asarray(cv2.dilate(mask.astype(np.uint8), disc), dtype=np.uint8)


def _explained(
    palette: NDArray[np.float32], own: int, sources: list[int], near: dict[int, NDArray[np.uint8]]
) -> NDArray[np.uint8]:
    """Pixels near two colours that the own one lies between, or near one it is a tint of.

    A thin line is no mixture of what lies beside it: it is lighter or darker than both sides.
    """
    explained = np.zeros(next(iter(near.values())).shape if near else (1, 1), dtype=np.uint8)
    exact = palette.astype(np.float64)
    difference = ciede2000(exact[own : own + 1], exact)[0]
    for i, a in enumerate(sources):
        if difference[a] < TINT:
            explained |= near[a]
        others = np.array(sources[i + 1 :], dtype=np.int64)
        if not len(others):
            continue
        first, this = np.full(len(others), a), np.full(len(others), own)
        for b in others[_lies_between(palette, this, first, others)].tolist():
            explained |= near[a] & near[b]
    return explained


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
