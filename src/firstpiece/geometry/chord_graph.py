"""The chords of the largest circles inside a shape, as a pruned Delaunay triangulation.

Each kept chord joins the two outline points where an inscribed circle touches; it crosses the
medial axis at a right angle. In: a polygon. Out: triangles, their circumcircles (points of the
axis and half widths), and which shared edges are chords.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import Delaunay, QhullError

from firstpiece.geometry.outline_samples import OutlineSamples, refine_samples, sample_outline
from firstpiece.kernels.leaf_pruning import prune_leaves

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A branch must gain this many radii of outline over its chord. A half-round end gains pi - 2 =
# 1.14 at its centre, so the axis stops there; a square corner gains .59 and gives no branch.
# Chord residual: Ogniewicz & Kübler, Hierarchic Voronoi skeletons, Pattern Recognition 28, 1995.
KEEP_RATIO = 1.15
_MOST_SAMPLES = 24_000
_REFINE_ROUNDS = 5


@dataclass(frozen=True, slots=True, eq=False)
class ChordGraph:
    """Triangles inside a shape and the chords between them.

    Parameters
    ----------
    samples : OutlineSamples
    triangles : (t, 3) int64
        Sample indices, anticlockwise; only triangles inside the shape.
    neighbors : (t, 3) int32
        Triangle across the edge opposite corner k, or -1 at the outline.
    kept : (t, 3) bool
        True where that edge is a chord of the pruned axis.
    centres_mm : (t, 2) float64 [mm]
        Circumcentres: points of the medial axis where the triangle is kept.
    radii_mm : (t,) float64 [mm]
    """

    samples: OutlineSamples
    triangles: NDArray[np.int64]
    neighbors: NDArray[np.int32]
    kept: NDArray[np.bool_]
    centres_mm: NDArray[np.float64]
    radii_mm: NDArray[np.float64]


def default_spacing(polygon: shapely.Polygon) -> float:
    """Return a sample spacing [mm] for a shape: an eighth of its mean width, 0.02 to 0.25 mm.

    Very long outlines are sampled more coarsely so that their number of samples stays bounded.
    """
    perimeter = polygon.length
    mean_width = 2.0 * polygon.area / perimeter if perimeter > 0 else 0.0
    return float(max(min(max(mean_width / 8.0, 0.02), 0.25), perimeter / _MOST_SAMPLES))


def chord_graph(
    polygon: shapely.Polygon, *, spacing_mm: float | None = None, keep_ratio: float = KEEP_RATIO
) -> ChordGraph:
    """Return the chords of a shape's inscribed circles.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty, in mm.
    spacing_mm : float or None [mm]
        Distance of outline samples; None takes ``default_spacing``.
    keep_ratio : float
        Least chord residual in radii at the outer end of a branch. Smaller keeps more branches;
        under about 0.05 the noise of sampling grows branches of its own.

    Notes
    -----
    Where the outline's own edges are missing from the triangulation (parts narrower than the
    spacing), midpoints are added and the triangulation is made again, at most 5 times.
    """
    spacing = default_spacing(polygon) if spacing_mm is None else spacing_mm
    samples = sample_outline(polygon, spacing_mm=spacing)
    mesh, missing = _triangulate(samples)
    for _ in range(_REFINE_ROUNDS):
        if not missing.any():
            break
        samples = refine_samples(samples, missing)
        mesh, missing = _triangulate(samples)
    triangles, neighbors = _inside(mesh, samples, polygon)
    centres, radii = circumcircles(samples.points_mm[triangles])
    ratio = _residual_ratio(samples, triangles, neighbors, radii)
    kept = prune_leaves(neighbors, neighbors >= 0, ratio, keep_ratio)
    return ChordGraph(samples, triangles, neighbors, kept, centres, radii)


def circumcircles(
    corners_mm: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return centres (t, 2) float64 and radii (t,) float64 [mm] of the circles through corners.

    Parameters
    ----------
    corners_mm : (t, 3, 2) float64 [mm]
        A flat triangle gives the middle of its longest side.
    """
    a, b, c = corners_mm[:, 0], corners_mm[:, 1], corners_mm[:, 2]
    ab, ac = b - a, c - a
    cross = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    ab2, ac2 = (ab**2).sum(axis=1), (ac**2).sum(axis=1)
    flat = np.abs(cross) < 1e-12 * (ab2 + ac2) + 1e-300
    safe = np.where(flat, 1.0, 2.0 * cross)
    x = (ac[:, 1] * ab2 - ab[:, 1] * ac2) / safe
    y = (ab[:, 0] * ac2 - ac[:, 0] * ab2) / safe
    centre = a + np.stack([x, y], axis=1)
    radius = np.hypot(x, y)
    if flat.any():
        sides = np.stack([b - c, c - a, a - b], axis=1)
        length = np.hypot(sides[..., 0], sides[..., 1])
        middle = 0.5 * np.stack([b + c, c + a, a + b], axis=1)
        rows = np.arange(len(a))
        longest = length.argmax(axis=1)
        centre = np.where(flat[:, None], middle[rows, longest], centre)
        radius = np.where(flat, 0.5 * length[rows, longest], radius)
    return centre, radius


def _triangulate(samples: OutlineSamples) -> tuple[Delaunay | None, NDArray[np.bool_]]:
    """Return the triangulation, and the samples whose edge to the next sample is not in it."""
    nothing = np.zeros(len(samples.points_mm), dtype=bool)
    try:
        mesh = Delaunay(samples.points_mm - samples.points_mm.mean(axis=0))
    except (QhullError, ValueError):
        return None, nothing
    n = len(samples.points_mm)
    ends = mesh.simplices[:, [[1, 2], [2, 0], [0, 1]]].reshape(-1, 2).astype(np.int64)
    have = np.sort(ends.min(axis=1) * n + ends.max(axis=1))
    here, after = np.arange(n), samples.following
    want = np.minimum(here, after) * n + np.maximum(here, after)
    found = np.searchsorted(have, want)
    missing = have[np.minimum(found, len(have) - 1)] != want
    step = np.hypot(*(samples.points_mm[after] - samples.points_mm).T)
    return mesh, missing & (step > 1e-3)


def _inside(
    mesh: Delaunay | None, samples: OutlineSamples, polygon: shapely.Polygon
) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Return the triangles inside the polygon and their neighbours, renumbered."""
    if mesh is None:
        return np.empty((0, 3), dtype=np.int64), np.empty((0, 3), dtype=np.int32)
    triangles = mesh.simplices.astype(np.int64)
    corners = samples.points_mm[triangles]
    ab, ac = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    cross = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    middle = corners.mean(axis=1)
    shapely.prepare(polygon)
    keep = shapely.contains_xy(polygon, middle[:, 0], middle[:, 1]) & (np.abs(cross) > 1e-14)
    flip = cross < 0
    triangles[flip] = triangles[flip][:, [0, 2, 1]]
    neighbors = mesh.neighbors.astype(np.int64)
    neighbors[flip] = neighbors[flip][:, [0, 2, 1]]
    number = np.full(len(triangles) + 1, -1, dtype=np.int32)
    number[:-1][keep] = np.arange(np.count_nonzero(keep), dtype=np.int32)
    triangles, neighbors = triangles[keep], number[neighbors[keep]]
    after = samples.following
    left, right = triangles[:, [1, 2, 0]], triangles[:, [2, 0, 1]]
    neighbors[(after[left] == right) | (after[right] == left)] = -1
    return triangles, neighbors


def _residual_ratio(
    samples: OutlineSamples,
    triangles: NDArray[np.int64],
    neighbors: NDArray[np.int32],
    radii: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return (t, 3) outline gained over the chord, in radii; infinite between two rings."""
    if not len(triangles):
        return np.zeros((0, 3))
    p, q = triangles[:, [1, 2, 0]], triangles[:, [2, 0, 1]]
    along = np.abs(samples.place_mm[p] - samples.place_mm[q])
    arc = np.minimum(along, samples.ring_length_mm[samples.ring[p]] - along)
    across = samples.points_mm[p] - samples.points_mm[q]
    chord = np.hypot(across[..., 0], across[..., 1])
    radius = 0.5 * (radii[:, None] + radii[np.maximum(neighbors, 0)])
    ratio = (arc - chord) / np.maximum(radius, 1e-9)
    return np.asarray(np.where(samples.ring[p] == samples.ring[q], ratio, np.inf))
