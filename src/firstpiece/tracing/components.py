"""Connected areas of a label map: numbered, measured, and the smallest given away.

Input: a label map. Output: area numbers, what touches what, widths, and the map without specks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from skimage.measure import label as connected_areas

if TYPE_CHECKING:
    from numpy.typing import NDArray


def label_components(
    labels: NDArray[np.int32],
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return the connected areas of equal labels.

    Parameters
    ----------
    labels : (h, w) int32

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

    Parameters
    ----------
    parts : (h, w) int32
        Area number per pixel.

    Returns
    -------
    area : (m,) int64
    other : (m,) int64
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


def edge_distance(labels: NDArray[np.int32]) -> NDArray[np.float32]:
    """Return each pixel's distance to the nearest pixel side between unlike labels, about.

    Parameters
    ----------
    labels : (h, w) int32

    Returns
    -------
    (h, w) float32 [px]
    """
    edge = np.zeros(labels.shape, dtype=bool)
    unlike = labels[:, 1:] != labels[:, :-1]
    edge[:, 1:] |= unlike
    edge[:, :-1] |= unlike
    unlike = labels[1:] != labels[:-1]
    edge[1:] |= unlike
    edge[:-1] |= unlike
    if not edge.any():
        return np.full(labels.shape, float(max(labels.shape)), dtype=np.float32)
    distance = cv2.distanceTransform((~edge).astype(np.uint8), cv2.DIST_L2, 3) + 0.5
    return np.asarray(distance, dtype=np.float32)


def half_widths(labels: NDArray[np.int32], parts: NDArray[np.int32]) -> NDArray[np.float64]:
    """Return the radius of the largest circle inside each area.

    Parameters
    ----------
    labels : (h, w) int32
    parts : (h, w) int32
        Its area numbers.

    Returns
    -------
    (n,) float64 [px]
    """
    widest = np.zeros(int(parts.max()) + 1, dtype=np.float32)
    np.maximum.at(widest, parts.ravel(), edge_distance(labels).ravel())
    return widest.astype(np.float64)


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
