"""Connected areas of a label map: measured, and the ones that are no areas given away.

Rims are thin areas whose colour lies between the two colours beside them; specks are areas too
small to sew. Both go to their neighbours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from skimage.measure import label as connected_areas

if TYPE_CHECKING:
    from numpy.typing import NDArray

MIX_TOLERANCE_LAB = 22.0


def label_components(
    labels: NDArray[np.int32],
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return the connected areas of equal labels.

    Returns
    -------
    parts : (h, w) int32
        Area number per pixel, from 0; pixels connect over their sides.
    label_of : (n,) int32
        Label of each area.
    """
    background = int(labels.min()) - 1
    parts = connected_areas(labels, background=background, connectivity=1).astype(np.int32) - 1
    label_of = np.empty(int(parts.max()) + 1, dtype=np.int32)
    label_of[parts.ravel()] = labels.ravel()
    return parts, label_of


def contacts(
    parts: NDArray[np.int32],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return how many pixel sides each area shares with each other one.

    Returns
    -------
    area, other : (m,) int64
        Every touching pair, both ways round, sorted by ``area``.
    n_sides : (m,) int64
    """
    across = np.stack([parts[:, :-1].ravel(), parts[:, 1:].ravel()])
    down = np.stack([parts[:-1].ravel(), parts[1:].ravel()])
    pairs = np.concatenate([across, down], axis=1).astype(np.int64)
    pairs = pairs[:, pairs[0] != pairs[1]]
    n = int(parts.max()) + 1
    key = np.concatenate([pairs[0] * n + pairs[1], pairs[1] * n + pairs[0]])
    unique, n_sides = np.unique(key, return_counts=True)
    return unique // n, unique % n, n_sides.astype(np.int64)


def half_widths(labels: NDArray[np.int32], parts: NDArray[np.int32]) -> NDArray[np.float64]:
    """Return the radius of the largest circle inside each area, in pixels."""
    edge = np.zeros(labels.shape, dtype=bool)
    unlike = labels[:, 1:] != labels[:, :-1]
    edge[:, 1:] |= unlike
    edge[:, :-1] |= unlike
    unlike = labels[1:] != labels[:-1]
    edge[1:] |= unlike
    edge[:-1] |= unlike
    distance = cv2.distanceTransform((~edge).astype(np.uint8), cv2.DIST_L2, 3) + 0.5
    widest = np.zeros(int(parts.max()) + 1, dtype=np.float32)
    np.maximum.at(widest, parts.ravel(), distance.ravel().astype(np.float32))
    return widest.astype(np.float64)


def dissolve_rims(
    labels: NDArray[np.int32],
    lab: NDArray[np.float32],
    palette: NDArray[np.float32],
    *,
    widest_px: float,
    rounds: int = 3,
) -> NDArray[np.int32]:
    """Return the map with thin in-between areas shared out at the half-way colour.

    Parameters
    ----------
    labels : (h, w) int32
        Palette index, or negative for bare.
    lab : (h, w, 3) float32
    palette : (k, 3) float32
    widest_px : float
        Wider areas stay.
    rounds : int
        A wide soft edge is several rims side by side; each round takes the outer ones.
    """
    out = labels.copy()
    for _ in range(rounds):
        parts, label_of = label_components(out)
        thin = half_widths(out, parts) * 2.0 <= widest_px
        beside = _beside(parts, label_of)
        a, b = beside[:, 0], beside[:, 1]
        is_rim = thin & (label_of >= 0) & (a >= 0) & (b >= 0)
        is_rim[is_rim] = _lies_between(palette, label_of[is_rim], a[is_rim], b[is_rim])
        # Beside bare cloth every thin area keeps its colour: there is no mixture with nothing.
        if not is_rim.any():
            break
        where = is_rim[parts]
        first, second = a[parts[where]], b[parts[where]]
        to_first = ((lab[where] - palette[first]) ** 2).sum(axis=1)
        to_second = ((lab[where] - palette[second]) ** 2).sum(axis=1)
        out[where] = np.where(to_first <= to_second, first, second)
    return out


def _beside(parts: NDArray[np.int32], label_of: NDArray[np.int32]) -> NDArray[np.int32]:
    """Return the two labels that most of each area's edge touches, -2 if not two.

    The lesser of them must hold at least a fifth of the edge.
    """
    n = len(label_of)
    n_labels = int(label_of.max()) + 2
    area, other, sides = contacts(parts)
    table = np.zeros((n, n_labels), dtype=np.int64)
    np.add.at(table, (area, label_of[other] + 1), sides)
    order = np.argsort(-table, axis=1, kind="stable")[:, :2]
    if n_labels < 2:
        return np.full((n, 2), -2, dtype=np.int32)
    second = table[np.arange(n), order[:, 1]]
    enough = second >= 0.2 * np.maximum(table.sum(axis=1), 1)
    beside: NDArray[np.int32] = np.where(enough[:, None], order - 1, -2).astype(np.int32)
    return beside


def _lies_between(
    palette: NDArray[np.float32],
    own: NDArray[np.int32],
    a: NDArray[np.int32],
    b: NDArray[np.int32],
) -> NDArray[np.bool_]:
    """Whether the own colour is near the straight line between the two, not beyond its ends."""
    p, q, c = palette[a].astype(float), palette[b].astype(float), palette[own].astype(float)
    step = q - p
    length2 = np.maximum((step**2).sum(axis=1), 1e-9)
    t = ((c - p) * step).sum(axis=1) / length2
    off = np.sqrt(((c - p - t[:, None] * step) ** 2).sum(axis=1))
    mask: NDArray[np.bool_] = (t > 0.0) & (t < 1.0) & (off <= MIX_TOLERANCE_LAB)
    return mask


def drop_specks(labels: NDArray[np.int32], *, smallest_px: float) -> tuple[NDArray[np.int32], int]:
    """Return the map with areas too small to sew given to the neighbour they touch most.

    Parameters
    ----------
    labels : (h, w) int32
    smallest_px : float
        Areas narrower than this and of less area than its square are specks; longer thin areas
        are lines and stay.

    Returns
    -------
    labels : (h, w) int32
    n_dropped : int
    """
    out = labels.copy()
    n_dropped = 0
    for _ in range(4):
        parts, label_of = label_components(out)
        size = np.bincount(parts.ravel())
        is_speck = (size < smallest_px**2) & (half_widths(out, parts) * 2.0 < smallest_px)
        if not is_speck.any() or is_speck.all():
            break
        area, other, sides = contacts(parts)
        # Solid neighbours first, so that a cluster of specks does not feed on itself.
        usable = is_speck[area] & ~is_speck[other]
        area, other, sides = area[usable], other[usable], sides[usable]
        order = np.lexsort((other, -sides, area))
        area, first = np.unique(area[order], return_index=True)
        heir = np.arange(len(label_of))
        heir[area] = other[order][first]
        if not len(area):
            break
        n_dropped += len(area)
        out = label_of[heir][parts].astype(np.int32)
    return out, n_dropped
