"""A plane cut into labelled faces that share their edges exactly: build, look around, merge.

Input: lines that meet only at shared points, or faces with labels. Output: faces, the lengths they
share, and the areas left when equal neighbours are joined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Partition:
    """Faces with disjoint interiors and shared edges, each with a label.

    Parameters
    ----------
    faces : (n,) object, each a shapely.Polygon
    labels : (n,) int64
    """

    faces: NDArray[np.object_]
    labels: NDArray[np.int64]


def cut_plane(lines: list[shapely.Geometry], *, grid: float) -> NDArray[np.object_]:
    """Return the faces that lines enclose.

    Parameters
    ----------
    lines : list of shapely geometries
        Linework; crossings need no vertex.
    grid : float
        Coordinates are rounded to multiples of this first, which makes the cutting robust.

    Returns
    -------
    (n,) object, each a shapely.Polygon
    """
    noded = shapely.union_all(lines, grid_size=grid)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    return faces[np.argsort(-shapely.area(faces), kind="stable")]


def shared_lengths(
    faces: NDArray[np.object_],
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Return which faces share an edge, and for how long.

    Parameters
    ----------
    faces : (n,) object, each a shapely.Polygon
        Neighbours have the same vertices along their common edge.

    Returns
    -------
    pairs : (m, 2) int64
        Face numbers, the lower first.
    lengths : (m,) float64
    open_lengths : (n,) float64
        Length of each face's edge that no other face shares.
    """
    rings, face_of_ring = shapely.get_rings(faces, return_index=True)
    xy, ring_of = shapely.get_coordinates(rings, return_index=True)
    inside_ring = ring_of[1:] == ring_of[:-1]
    p, q = xy[:-1][inside_ring], xy[1:][inside_ring]
    owner = face_of_ring[ring_of[:-1][inside_ring]]
    swap = (p[:, 0] > q[:, 0]) | ((p[:, 0] == q[:, 0]) & (p[:, 1] > q[:, 1]))
    ends = np.where(swap[:, None], np.hstack([q, p]), np.hstack([p, q]))
    length = np.hypot(*(p - q).T)
    order = np.lexsort(ends.T)
    ends, owner, length = ends[order], owner[order], length[order]
    same = np.zeros(len(ends), dtype=bool)
    same[:-1] = (ends[1:] == ends[:-1]).all(axis=1)
    first = np.flatnonzero(same)
    is_shared = same.copy()
    is_shared[first + 1] = True
    open_lengths = np.bincount(owner[~is_shared], weights=length[~is_shared], minlength=len(faces))
    left, right = owner[first], owner[first + 1]
    key = np.minimum(left, right) * len(faces) + np.maximum(left, right)
    unique, inverse = np.unique(key, return_inverse=True)
    lengths = np.bincount(inverse, weights=length[first]).astype(np.float64)
    pairs = np.column_stack([unique // len(faces), unique % len(faces)])
    keep = pairs[:, 0] != pairs[:, 1]
    return pairs[keep].astype(np.int64), lengths[keep], open_lengths.astype(np.float64)


def join_equal(partition: Partition) -> Partition:
    """Return the partition with touching faces of one label joined into one.

    Faces keep the order of their labels, then falling area.
    """
    faces: list[shapely.Geometry] = []
    labels: list[int] = []
    for label in np.unique(partition.labels):
        joined = shapely.coverage_union_all(partition.faces[partition.labels == label])
        parts = [p for p in shapely.get_parts(joined) if p.area > 0]
        parts.sort(key=lambda p: -p.area)
        faces += parts
        labels += [int(label)] * len(parts)
    out = np.empty(len(faces), dtype=object)
    out[:] = faces
    return Partition(out, np.array(labels, dtype=np.int64))
