"""The medial axis of a shape: centres of its largest inscribed circles, with their radii.

In: a polygon in mm. Out: a graph of axis points with radii and its branches as polylines, or only
a summary of the widths along it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.chord_graph import KEEP_RATIO, ChordGraph, chord_graph
from firstpiece.kernels.leaf_pruning import walk_chains

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

# Thinner than the triangulation resolves and far thinner than thread.
_SLIVER_MM = 0.03


@dataclass(frozen=True, slots=True, eq=False)
class AxisBranch:
    """One branch between two ends or junctions, or a closed loop.

    Parameters
    ----------
    points_mm : (k, 2) float64 [mm]
        A closed branch repeats its first point.
    radii_mm : (k,) float64 [mm]
        Half the inscribed width at each point.
    start_node, end_node : int
        Indices into the nodes of the axis.
    is_closed : bool
    """

    points_mm: NDArray[np.float64]
    radii_mm: NDArray[np.float64]
    start_node: int
    end_node: int
    is_closed: bool

    @property
    def length_mm(self) -> float:
        """Length of the branch."""
        step = np.diff(self.points_mm, axis=0)
        return float(np.hypot(step[:, 0], step[:, 1]).sum())


@dataclass(frozen=True, slots=True, eq=False)
class MedialAxis:
    """A pruned medial axis.

    Parameters
    ----------
    nodes_mm : (n, 2) float64 [mm]
        Points of the axis. A round or square dot has one node and no edge.
    radii_mm : (n,) float64 [mm]
    edges : (m, 2) int64
        Pairs of nodes.
    branches : tuple of AxisBranch
    """

    nodes_mm: NDArray[np.float64]
    radii_mm: NDArray[np.float64]
    edges: NDArray[np.int64]
    branches: tuple[AxisBranch, ...]

    @property
    def length_mm(self) -> float:
        """Length of all branches."""
        step = self.nodes_mm[self.edges[:, 1]] - self.nodes_mm[self.edges[:, 0]]
        return float(np.hypot(step[:, 0], step[:, 1]).sum())


@dataclass(frozen=True, slots=True)
class InscribedWidths:
    """How wide a shape is along its axis.

    ``max_mm`` is the diameter of the largest inscribed circle; ``median_mm``, ``p10_mm`` and
    ``p90_mm`` are quantiles of the inscribed width over the axis by length; ``length_mm`` is the
    axis length, 0 for a dot; ``n_ends`` and
    ``n_junctions`` count its free ends and its branch points.
    """

    max_mm: float
    median_mm: float
    p10_mm: float
    p90_mm: float
    length_mm: float
    n_ends: int
    n_junctions: int


def medial_axis(
    polygon: shapely.Polygon, *, spacing_mm: float | None = None, keep_ratio: float = KEEP_RATIO
) -> MedialAxis:
    """Return the pruned medial axis of a shape, from the Voronoi diagram of its outline.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid and not empty, in mm; holes give closed branches.
    spacing_mm : float or None [mm]
        Distance of outline samples. None: an eighth of the mean width, 0.02 to 0.25 mm.
    keep_ratio : float
        Least chord residual, in radii, at the outer end of a branch. The default stops the axis
        at the centre of a half-round end and gives square corners no branch; 0.4 keeps the
        branches into square corners.

    Returns
    -------
    MedialAxis

    Notes
    -----
    Points lie within about spacing²/(8 r) of the true axis. Not exact at sharp tips, which the
    axis leaves out by about one spacing.

    References
    ----------
    R. Ogniewicz, O. Kübler, Hierarchic Voronoi skeletons, Pattern Recognition 28(3), 1995.
    """
    return axis_of(chord_graph(polygon, spacing_mm=spacing_mm, keep_ratio=keep_ratio))


def axis_of(graph: ChordGraph) -> MedialAxis:
    """Return the medial axis a chord graph describes."""
    used = np.flatnonzero(graph.kept.any(axis=1))
    if not len(used) and len(graph.radii_mm):
        used = np.array([_roundest(graph)])
    number = np.full(len(graph.triangles), -1, dtype=np.int64)
    number[used] = np.arange(len(used))
    steps, starts, closed = walk_chains(graph.neighbors, graph.kept)
    ends = graph.neighbors[steps[:, 0], steps[:, 1]].astype(np.int64)
    edges = number[np.stack([steps[:, 0], ends], axis=1)] if len(steps) else _no_edges()
    branches = []
    for i, is_closed in enumerate(closed):
        run = slice(int(starts[i]), int(starts[i + 1]))
        path = np.append(steps[run, 0], ends[run][-1])
        branches.append(
            AxisBranch(
                points_mm=graph.centres_mm[path],
                radii_mm=graph.radii_mm[path],
                start_node=int(number[path[0]]),
                end_node=int(number[path[-1]]),
                is_closed=bool(is_closed),
            )
        )
    return MedialAxis(graph.centres_mm[used], graph.radii_mm[used], edges, tuple(branches))


def inscribed_widths(
    polygon: shapely.Polygon, *, spacing_mm: float | None = None
) -> InscribedWidths:
    """Return a summary of a shape's inscribed widths, enough to choose how to sew it.

    Parameters
    ----------
    polygon : shapely.Polygon
        Valid, in mm; an empty one has no width and no length.
    spacing_mm : float or None [mm]
        As in ``medial_axis``.
    """
    return widths_and_axis(polygon, spacing_mm=spacing_mm)[0]


def widths_and_axis(
    polygon: shapely.Polygon, *, spacing_mm: float | None = None
) -> tuple[InscribedWidths, MedialAxis | None]:
    """Return what ``inscribed_widths`` does and the axis it is taken from, None for a sliver.

    Parameters
    ----------
    polygon : shapely.Polygon
    spacing_mm : float or None [mm]
    """
    mean_width = 2.0 * polygon.area / polygon.length if polygon.length > 0 else 0.0
    if mean_width < _SLIVER_MM:
        return _sliver_widths(mean_width, 0.5 * polygon.length), None
    axis = axis_of(chord_graph(polygon, spacing_mm=spacing_mm))
    if not len(axis.nodes_mm):
        return _sliver_widths(mean_width, 0.5 * polygon.length), axis
    return _axis_widths(axis), axis


def _axis_widths(axis: MedialAxis) -> InscribedWidths:
    widest = 2.0 * float(axis.radii_mm.max())
    if not len(axis.edges):
        return InscribedWidths(widest, widest, widest, widest, 0.0, 0, 0)
    step = axis.nodes_mm[axis.edges[:, 1]] - axis.nodes_mm[axis.edges[:, 0]]
    length = np.hypot(step[:, 0], step[:, 1])
    width = axis.radii_mm[axis.edges].sum(axis=1)
    p10, median, p90 = _weighted_quantiles(width, length, (0.1, 0.5, 0.9))
    degree = np.bincount(axis.edges.ravel(), minlength=len(axis.nodes_mm))
    return InscribedWidths(
        max_mm=widest,
        median_mm=median,
        p10_mm=p10,
        p90_mm=p90,
        length_mm=float(length.sum()),
        n_ends=int(np.count_nonzero(degree == 1)),
        n_junctions=int(np.count_nonzero(degree > 2)),
    )


def _sliver_widths(width_mm: float, length_mm: float) -> InscribedWidths:
    return InscribedWidths(width_mm, width_mm, width_mm, width_mm, length_mm, 2, 0)


def _roundest(graph: ChordGraph) -> int:
    """Return the triangle with the largest inscribed circle of a shape without an axis."""
    # A circumcircle of an obtuse triangle at the outline can be huge; inscribed ones have their
    # centre inside the shape's own triangles, so the far ones are put last.
    middle = graph.samples.points_mm[graph.triangles].mean(axis=1)
    near = np.hypot(*(graph.centres_mm - middle).T) <= graph.radii_mm * 0.9
    return int(np.argmax(np.where(near, graph.radii_mm, -1.0)))


def _no_edges() -> NDArray[np.int64]:
    return np.empty((0, 2), dtype=np.int64)


def _weighted_quantiles(
    values: NDArray[np.float64], weights: NDArray[np.float64], shares: tuple[float, ...]
) -> tuple[float, ...]:
    order = np.argsort(values, kind="stable")
    total = np.cumsum(weights[order])
    if total[-1] <= 0:
        return tuple(float(np.median(values)) for _ in shares)
    at = np.searchsorted(total, np.array(shares) * total[-1])
    return tuple(float(v) for v in values[order][np.minimum(at, len(values) - 1)])
