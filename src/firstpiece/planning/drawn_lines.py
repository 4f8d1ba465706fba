"""The strokes of a pen as an axis to run along, in place of the medial axis of what they cover.

Input: centre lines with widths. Output: a ``MedialAxis`` whose branches end where strokes begin,
end or meet, so that a crossing is run straight through and nothing is guessed from the outline.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from firstpiece.geometry.medial_axis import AxisBranch, MedialAxis

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.region import CentreLine

# Line ends nearer than this are one place.
JOINED_MM = 0.05


def axis_of_lines(lines: Sequence[CentreLine]) -> MedialAxis:
    """Return the axis of strokes.

    Parameters
    ----------
    lines : sequence of CentreLine
        At least one.
    """
    xy = np.vstack([line.xy_mm for line in lines])
    radii = np.concatenate([line.width_mm for line in lines]) / 2
    node = _shared(xy)
    ends = np.cumsum([len(line.xy_mm) for line in lines])
    edges, branches = [], []
    for line, end in zip(lines, ends.tolist(), strict=True):
        start = end - len(line.xy_mm)
        own = node[start:end]
        edges.append(np.column_stack([own[:-1], own[1:]]))
        # A stroke is divided where another one meets it.
        counts = np.bincount(node, minlength=len(xy))[own]
        stops = [0, *(np.flatnonzero(counts[1:-1] > 1) + 1).tolist(), len(own) - 1]
        branches += [
            _branch(xy[start:end], radii[start:end], own, a, b)
            for a, b in itertools.pairwise(stops)
        ]
    return MedialAxis(xy, radii, np.vstack(edges), tuple(branches))


def _branch(
    xy: NDArray[np.float64],
    radii: NDArray[np.float64],
    node: NDArray[np.int64],
    first: int,
    last: int,
) -> AxisBranch:
    rows = slice(first, last + 1)
    closed = bool(node[first] == node[last])
    return AxisBranch(xy[rows], radii[rows], int(node[first]), int(node[last]), closed)


def _shared(xy: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the number of each point, that of the first one at the same place."""
    node = np.arange(len(xy))
    for i, j in sorted(cKDTree(xy).query_pairs(JOINED_MM)):
        # Neighbours along one stroke may lie closer than that and stay apart.
        if abs(i - j) > 1:
            node[j] = node[i]
    return node
