"""Areas too small or too thin to sew, given to the neighbour they share the longest edge with.

Input: a labelled partition. Output: one without specks and slivers, equal neighbours joined.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.partition import Partition, join_equal, shared_lengths
from firstpiece.model.region import BARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

SLIVER_MM = 0.10
"""Remains of filled shapes thinner than this on average are slips of the drawing, not lines."""

HAIRLINE_MM = 0.03
"""Drawn lines thinner than this at the wanted height are not meant to be seen."""

ROUNDS = 6


def absorb_specks(
    partition: Partition, *, is_line: NDArray[np.bool_], smallest_mm: float
) -> tuple[Partition, int]:
    """Return the partition with specks and slivers merged into their surroundings.

    Parameters
    ----------
    partition : Partition
        In mm.
    is_line : (n,) bool
        Faces drawn as lines; a line of any length is kept however thin.
    smallest_mm : float [mm]
        Areas narrower than this everywhere and of less area than its square are specks.

    Returns
    -------
    partition : Partition
    n_absorbed : int
    """
    current, lines = _join(partition, is_line)
    n_absorbed = 0
    for _ in range(ROUNDS):
        tiny = _is_tiny(current.faces, lines, smallest_mm)
        if not tiny.any():
            break
        pairs, lengths, open_lengths = shared_lengths(current.faces)
        labels = _heirs(current.labels, tiny, pairs, lengths, open_lengths)
        changed = labels != current.labels
        n_absorbed += int((tiny & (current.labels != BARE)).sum())
        if not changed.any():
            break
        current, lines = _join(Partition(current.faces, labels), lines & ~tiny)
    return current, n_absorbed


def _join(partition: Partition, is_line: NDArray[np.bool_]) -> tuple[Partition, NDArray[np.bool_]]:
    """Join equal neighbours; an area is a line when most of what it was made of was."""
    joined = join_equal(partition)
    if not is_line.any():
        return joined, np.zeros(len(joined.faces), dtype=bool)
    drawn = partition.faces[is_line]
    inside = shapely.point_on_surface(drawn)
    tree = shapely.STRtree(joined.faces)
    part, whole = tree.query(inside, predicate="intersects")
    share = np.bincount(whole, weights=shapely.area(drawn[part]), minlength=len(joined.faces))
    lines: NDArray[np.bool_] = share > 0.5 * shapely.area(joined.faces)
    return joined, lines


def _is_tiny(
    faces: NDArray[np.object_], lines: NDArray[np.bool_], smallest_mm: float
) -> NDArray[np.bool_]:
    area = shapely.area(faces)
    mean_width = 2.0 * area / np.maximum(shapely.length(faces), 1e-12)
    tiny: NDArray[np.bool_] = mean_width < np.where(lines, HAIRLINE_MM, SLIVER_MM)
    small = np.flatnonzero((area < smallest_mm**2) & ~tiny)
    core = shapely.buffer(faces[small], -smallest_mm / 2.0)
    tiny[small] = shapely.is_empty(core)
    return tiny


def _heirs(
    labels: NDArray[np.int64],
    tiny: NDArray[np.bool_],
    pairs: NDArray[np.int64],
    lengths: NDArray[np.float64],
    open_lengths: NDArray[np.float64],
) -> NDArray[np.int64]:
    """Return new labels: each tiny face takes the label it shares the longest edge with.

    Edges that no face shares count for the bare cloth. Solid neighbours go before tiny ones.
    """
    both = np.vstack([pairs, pairs[:, ::-1]])
    twice = np.concatenate([lengths, lengths])
    keep = tiny[both[:, 0]] & ~tiny[both[:, 1]]
    face, label = both[keep, 0], labels[both[keep, 1]]
    bare = np.flatnonzero(tiny & (open_lengths > 0))
    face = np.concatenate([face, bare])
    label = np.concatenate([label, np.full(len(bare), BARE)])
    length = np.concatenate([twice[keep], open_lengths[bare]])
    if not len(face):
        return labels
    n_labels = int(labels.max()) + 2
    key, inverse = np.unique(face * n_labels + label + 1, return_inverse=True)
    total = np.bincount(inverse, weights=length)
    owner, candidate = key // n_labels, key % n_labels - 1
    order = np.lexsort((candidate, -total, owner))
    owner, first = np.unique(owner[order], return_index=True)
    out = labels.copy()
    out[owner] = candidate[order][first]
    return out
