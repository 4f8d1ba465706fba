"""Points set closely along the outline of a polygon, with their place on their ring.

In: a polygon. Out: samples that include every corner, anticlockwise outside and clockwise round
holes, so that the inside always lies to the left.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Golden-ratio sequence; a part in 10^4 of the spacing breaks the ties of co-circular samples
# the same way wherever the shape lies.
_GOLDEN = 0.6180339887498949
_JITTER = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class OutlineSamples:
    """Samples of all rings of a polygon, ring after ring.

    Parameters
    ----------
    points_mm : (n, 2) float64 [mm]
    ring : (n,) int32
        Ring of each sample, 0 is the outside.
    place_mm : (n,) float64 [mm]
        Distance along its ring from the ring's first sample.
    ring_length_mm : (r,) float64 [mm]
    ring_start : (r + 1,) int64
        Ring i holds samples ``ring_start[i]`` to ``ring_start[i + 1] - 1``.
    """

    points_mm: NDArray[np.float64]
    ring: NDArray[np.int32]
    place_mm: NDArray[np.float64]
    ring_length_mm: NDArray[np.float64]
    ring_start: NDArray[np.int64]

    @property
    def following(self) -> NDArray[np.int64]:
        """(n,) int64: the next sample of the same ring."""
        after = np.arange(1, len(self.points_mm) + 1)
        after[self.ring_start[1:] - 1] = self.ring_start[:-1]
        return after

    def arc(self, first: int, last: int) -> NDArray[np.int64]:
        """Return the samples from ``first`` on to ``last`` along their ring, both included.

        Parameters
        ----------
        first, last : int

        Returns
        -------
        (k,) int64
            Two samples of different rings give just those two.
        """
        ring = int(self.ring[first])
        if ring != int(self.ring[last]):
            return np.array([first, last])
        start, stop = int(self.ring_start[ring]), int(self.ring_start[ring + 1])
        count = (last - first) % (stop - start) + 1
        return start + (first - start + np.arange(count)) % (stop - start)


def sample_outline(polygon: shapely.Polygon, *, spacing_mm: float) -> OutlineSamples:
    """Return samples at most ``spacing_mm`` apart, every vertex of the polygon among them.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty.
    spacing_mm : float [mm]
        Greater than 0.

    Raises
    ------
    ValueError
        When a coordinate is not finite or the spacing is not positive.
    """
    if not spacing_mm > 0:
        msg = "the sample spacing must be greater than zero"
        raise ValueError(msg)
    oriented = shapely.orient_polygons(polygon)
    rings = [oriented.exterior, *oriented.interiors]
    pieces = [_divide_ring(shapely.get_coordinates(ring), spacing_mm) for ring in rings]
    return _join_rings(pieces)


def refine_samples(samples: OutlineSamples, split: NDArray[np.bool_]) -> OutlineSamples:
    """Return the samples with a midpoint added after each sample marked in ``split``.

    Parameters
    ----------
    samples : OutlineSamples
    split : (n,) bool
    """
    pieces = []
    for i in range(len(samples.ring_length_mm)):
        part = slice(int(samples.ring_start[i]), int(samples.ring_start[i + 1]))
        points = samples.points_mm[part]
        marked = np.flatnonzero(split[part])
        middle = 0.5 * (points[marked] + points[(marked + 1) % len(points)])
        pieces.append(np.insert(points, marked + 1, middle, axis=0))
    return _join_rings(pieces)


def _divide_ring(ring: NDArray[np.float64], spacing_mm: float) -> NDArray[np.float64]:
    """Return the open ring with each edge cut into equal parts of at most the spacing."""
    if not np.isfinite(ring).all():
        msg = "the outline holds a coordinate that is not finite"
        raise ValueError(msg)
    edge = np.diff(ring, axis=0)
    length = np.hypot(edge[:, 0], edge[:, 1])
    use = length > 1e-9
    start, edge, length = ring[:-1][use], edge[use], length[use]
    count = np.maximum(np.ceil(length / spacing_mm - 1e-9), 1).astype(np.int64)
    which = np.repeat(np.arange(len(count)), count)
    first = np.cumsum(count) - count
    share = (np.arange(len(which)) - first[which]) / count[which]
    # Corners stay exact; only the points between are moved, along their edge.
    shift = (np.arange(len(which)) * _GOLDEN) % 1.0 - 0.5
    share = np.where(share > 0, share + 2 * _JITTER * shift / count[which], 0.0)
    return np.asarray(start[which] + share[:, None] * edge[which], dtype=np.float64)


def _join_rings(pieces: list[NDArray[np.float64]]) -> OutlineSamples:
    places, lengths = [], []
    for points in pieces:
        step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
        places.append(np.concatenate([[0.0], np.cumsum(step)[:-1]]))
        lengths.append(float(step.sum()))
    sizes = np.array([len(p) for p in pieces], dtype=np.int64)
    return OutlineSamples(
        points_mm=np.concatenate(pieces),
        ring=np.repeat(np.arange(len(pieces), dtype=np.int32), sizes),
        place_mm=np.concatenate(places),
        ring_length_mm=np.array(lengths),
        ring_start=np.concatenate([[0], np.cumsum(sizes)]),
    )
