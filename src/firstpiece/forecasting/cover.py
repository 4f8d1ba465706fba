"""How much of each area lies under thread, and the widest spot that does not.

Input: areas, laid thread and the range of the thread's width. Output: an ``AreaCover`` per sewn
area for each width, from the true stitch geometry (no average formula).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.forecasting.cover_map import layer_counts
from firstpiece.kernels.count_map import tally_gaps, tally_layers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.kernels.coverage import Grid

LAYER_KINDS = 5


@dataclass(frozen=True, slots=True)
class AreaCover:
    """The cover of one area at one thread width.

    Parameters
    ----------
    shares : tuple of float
        Shares of the area under 0, 1, 2, 3 and 4 or more threads.
    bare_mm2 : float [mm²]
    widest_gap_mm : float [mm]
        Diameter of the largest circle inside the area that no thread touches.
    widest_at_mm : tuple of float or None [mm]
        Its centre.
    usual_gap_mm : float [mm]
        Width of the slots that would have the same mean distance from thread.
    """

    shares: tuple[float, ...]
    bare_mm2: float
    widest_gap_mm: float
    widest_at_mm: tuple[float, float] | None
    usual_gap_mm: float

    @property
    def cover(self) -> float:
        """Share of the area under thread."""
        return 1.0 - self.shares[0]


@dataclass(frozen=True, slots=True, eq=False)
class DesignCover:
    """Cover of every area at one thread width, with the layer counts it came from."""

    areas: tuple[AreaCover, ...]
    layers: NDArray[np.uint16]


def measure_cover(
    labels: NDArray[np.int32],
    n_areas: int,
    laid: LaidThread,
    half_widths_mm: NDArray[np.float64],
    grid: Grid,
) -> DesignCover:
    """Return the cover of all areas when the thread is this wide.

    Parameters
    ----------
    labels : (h, w) int32
        Area of each pixel, -1 for none.
    n_areas : int
    laid : LaidThread
    half_widths_mm : (m,) float64 [mm]
    grid : Grid

    Notes
    -----
    Thread of any colour covers. A slot of width g has a mean distance g/4 from its walls, which
    gives the usual gap. Distances are Euclidean (Felzenszwalb & Huttenlocher 2012) between pixel
    centres, less half a pixel at the wall.
    """
    layers = layer_counts(laid, half_widths_mm, grid)
    areas = area_covers(labels, layers, n_areas, grid)
    return DesignCover(tuple(areas), layers)


def area_covers(
    labels: NDArray[np.int32],
    layers: NDArray[np.uint16],
    n_areas: int,
    grid: Grid,
    corner: tuple[int, int] = (0, 0),
) -> list[AreaCover]:
    """Return the cover of areas on a raster, or on the part of it that begins at ``corner``.

    Parameters
    ----------
    labels : (h, w) int32
    layers : (h, w) uint16
    n_areas : int
    grid : Grid
        Of the whole raster.
    corner : (row, column)
    """
    counts = tally_layers(labels, layers, n_areas, LAYER_KINDS)
    distance = bare_distance(labels, layers)
    total, place = tally_gaps(labels, distance, n_areas)
    areas = []
    for area in range(n_areas):
        row, col = int(place[area, 0]), int(place[area, 1])
        reach = float(distance[row, col]) if row >= 0 else 0.0
        at = (row + corner[0], col + corner[1], reach)
        areas.append(_area_cover(counts[area], total[area], at, grid))
    return areas


def bare_distance(labels: NDArray[np.int32], layers: NDArray[np.uint16]) -> NDArray[np.float32]:
    """Return (h, w) float32: pixels from each bare pixel of an area to thread or the area's end."""
    bare = ((layers == 0) & (labels >= 0)).astype(np.uint8)
    # A clear rim keeps circles inside the raster.
    bare[[0, -1], :] = 0
    bare[:, [0, -1]] = 0
    distance: NDArray[np.float32] = cv2.distanceTransform(bare, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return distance


def _area_cover(
    counts: NDArray[np.int64], total: float, widest: tuple[int, int, float], grid: Grid
) -> AreaCover:
    n_pixels, n_bare = int(counts.sum()), int(counts[0])
    row, col, reach = widest
    pixel = grid.pixel_mm
    place = (
        round(grid.left_mm + (col + 0.5) * pixel, 2),
        round(grid.top_mm - (row + 0.5) * pixel, 2),
    )
    return AreaCover(
        shares=tuple(float(s) for s in counts / max(1, n_pixels)),
        bare_mm2=n_bare * pixel**2,
        widest_gap_mm=max(0.0, (2.0 * reach - 1.0) * pixel),
        widest_at_mm=place if reach > 0.0 else None,
        usual_gap_mm=max(pixel / 2, (4.0 * total / max(1, n_bare) - 1.0) * pixel),
    )
