"""What a viewer sees of the cloth: the sewn areas filtered by the eye, from two distances.

Input: label and layer rasters and the colours of each area. Output: per area the mean and the 95 %
point of the difference to the same stitches on thread-coloured cloth, and a map of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.forecasting.eye_filter import OPPONENT_OF_XYZ, lab_of_opponent, see_from
from firstpiece.forecasting.show_through import XYZ_OF_LINEAR, layer_colors
from firstpiece.kernels.layer_paint import difference_map, paint_layers
from firstpiece.model.forecast import ForecastMap, SeenFrom

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.forecasting.show_through import SewnTexture
    from firstpiece.kernels.coverage import Grid

# Reading distance and a standing viewer's.
NEAR_MM, FAR_MM = 400.0, 1000.0
# Pixels of the filtered picture and between the places it is judged at, from the reading distance.
FINE_MM, JUDGED_MM = 0.09, 0.25
MOST_JUDGED = 300_000
# A larger picture is filtered more coarsely: about 0.18 mm from 220 mm square on.
MOST_SEEN = 6_000_000
P95 = 95.0


@dataclass(frozen=True, slots=True, eq=False)
class AreaColors:
    """Colours of one area by layer count: on the garment's cloth and on thread-coloured cloth.

    Both are (k, 3) float64 reflectances in linear sRGB.
    """

    seen: NDArray[np.float64]
    ideal: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SeenCover:
    """Per area what is seen from each distance, and the map from the reading distance."""

    areas: tuple[tuple[SeenFrom, ...], ...]
    shift: ForecastMap


def area_colors(
    thread: NDArray[np.float64], cloth: NDArray[np.float64], texture: SewnTexture, scatter: float
) -> AreaColors:
    """Return the colours of an area's places by the number of threads over them."""
    return AreaColors(
        layer_colors(thread, cloth, texture, scatter),
        layer_colors(thread, thread, texture, scatter),
    )


def view_cover(
    labels: NDArray[np.int32],
    layers: NDArray[np.uint16],
    colors: Sequence[AreaColors],
    cloth: NDArray[np.float64],
    grid: Grid,
) -> SeenCover:
    """Return how far the cloth changes each area for a viewer at 0.4 m and at 1 m.

    Parameters
    ----------
    labels : (h, w) int32
    layers : (h, w) uint16
    colors : sequence of AreaColors
        One per area, all with the same number of layer counts.
    cloth : (3,) float64
        The garment in linear sRGB.
    grid : Grid

    Notes
    -----
    Both pictures hold the same cloth outside the areas, so only what shows between and through the
    stitches differs. CIEDE2000 on the filtered pictures (after Johnson & Fairchild 2003, Color Res.
    Appl. 28(6) 425, from memory). Gloss is left out.
    """
    block = max(1, round(FINE_MM / grid.pixel_mm))
    while labels.size > MOST_SEEN * block**2:
        block += 1
    tables = _tables(colors, cloth)
    near = [paint_layers(labels, layers, table, block) for table in tables]
    height, width = near[0].shape[1:]
    where = labels[block // 2 :: block, block // 2 :: block][:height, :width]
    pixel = grid.pixel_mm * block
    step = max(1, round(JUDGED_MM / pixel), math.ceil(math.sqrt(where.size / MOST_JUDGED)))
    coarser = max(1, round(FAR_MM / NEAR_MM))
    views, found = [], np.zeros(0, dtype=np.float32)
    for distance, shrink in ((FAR_MM, coarser), (NEAR_MM, 1)):
        stride = max(1, step // shrink)
        first, second = (
            _judged(picture, (pixel * shrink, distance), shrink, stride) for picture in near
        )
        found = difference_map(lab_of_opponent(first), lab_of_opponent(second))
        at = _shrunk_labels(where, shrink)[::stride, ::stride]
        # Beyond the areas there is no thread whose colour could change.
        found[at.ravel() < 0] = 0.0
        views.append(_by_area(at.ravel(), found, len(colors), distance))
    values = found.reshape(where[::step, ::step].shape)
    shift = ForecastMap(values, grid.left_mm, grid.top_mm, pixel * step, "ΔE00")
    return SeenCover(tuple(zip(*reversed(views), strict=True)), shift)


def _shrunk_labels(labels: NDArray[np.int32], shrink: int) -> NDArray[np.int32]:
    rows, cols = labels.shape[0] // shrink, labels.shape[1] // shrink
    return labels[shrink // 2 :: shrink, shrink // 2 :: shrink][:rows, :cols]


def _tables(
    colors: Sequence[AreaColors], cloth: NDArray[np.float64]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the (3, n + 1, k) opponent colours of what is seen and of the ideal."""
    n_counts = len(colors[0].seen) if colors else 1
    outside = np.broadcast_to(cloth, (1, n_counts, 3))
    to_opponent = OPPONENT_OF_XYZ @ XYZ_OF_LINEAR
    tables = []
    for areas in ([c.seen for c in colors], [c.ideal for c in colors]):
        linear = np.concatenate([np.reshape(areas, (-1, n_counts, 3)), outside])
        tables.append(np.ascontiguousarray(np.moveaxis(linear @ to_opponent.T, 2, 0), np.float32))
    return tables[0], tables[1]


def _judged(
    picture: NDArray[np.float32], view: tuple[float, float], shrink: int, stride: int
) -> NDArray[np.float32]:
    """Return (3, n) opponent colours of the judged places, seen from a distance.

    ``view`` is the pixel of the shrunk picture and the distance [mm].
    """
    pixel_mm, distance_mm = view
    rows, cols = picture.shape[1] // shrink, picture.shape[2] // shrink
    if shrink > 1:
        cut = picture[:, : rows * shrink, : cols * shrink]
        planes = [cv2.resize(p, (cols, rows), interpolation=cv2.INTER_AREA) for p in cut]
        picture = np.stack(planes).astype(np.float32)
    seen = see_from(picture, pixel_mm=pixel_mm, distance_mm=distance_mm)
    return np.ascontiguousarray(seen[:, ::stride, ::stride]).reshape(3, -1)


def _by_area(
    labels: NDArray[np.int32], found: NDArray[np.float32], n_areas: int, distance_mm: float
) -> list[SeenFrom]:
    order = np.argsort(labels, kind="stable")
    start = np.searchsorted(labels[order], np.arange(n_areas + 1))
    views = []
    for area in range(n_areas):
        own = found[order[start[area] : start[area + 1]]]
        mean, high = (float(own.mean()), float(np.percentile(own, P95))) if len(own) else (0.0, 0.0)
        views.append(SeenFrom(distance_mm, mean, high))
    return views
