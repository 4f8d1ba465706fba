"""Cover at several thread widths, measured anew only where a plan's thread has changed.

Input: what was measured before, and the design as it is now. Output: the same figures as measuring
everything, pixel for pixel; only the time differs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.changed_thread import (
    changed_pieces,
    changed_windows,
    grown,
    touching,
)
from firstpiece.forecasting.cover import DesignCover, area_covers, measure_cover
from firstpiece.kernels.coverage import close_ends_in, recount_layers

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.forecasting.changed_thread import Window
    from firstpiece.forecasting.cover import AreaCover
    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.kernels.coverage import Grid

# Slack round areas measured again, beyond the widest bare spot before [px].
ROOM_PX = 40


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredAgain:
    """Cover by thread width, and what it was measured from.

    Parameters
    ----------
    areas_key : str
        Hash of the areas' shapes.
    grid : Grid
    boxes : (n, 4) int64
        Rows and columns that each area lies in.
    laid : LaidThread
    halves : mapping of float to (m,) float64 [mm]
    covers : mapping of float to DesignCover
    changed : tuple of int or None
        Areas measured again; None when all were.
    windows : tuple of Window
        Where thread was counted again.
    """

    areas_key: str
    grid: Grid
    boxes: NDArray[np.int64]
    laid: LaidThread
    halves: Mapping[float, NDArray[np.float64]]
    covers: Mapping[float, DesignCover]
    changed: tuple[int, ...] | None = None
    windows: tuple[Window, ...] = ()


def measure_covers(
    labels: NDArray[np.int32], now: MeasuredAgain, before: MeasuredAgain | None
) -> MeasuredAgain:
    """Return the cover at every width.

    Parameters
    ----------
    labels : (h, w) int32
        Area of each pixel, -1 for none.
    now : MeasuredAgain
        The design as it is, with no covers yet.
    before : MeasuredAgain or None
    """
    found = None if before is None else _again(labels, now, before)
    if found is not None:
        return found
    covers = {
        ratio: measure_cover(labels, len(now.boxes), now.laid, halves, now.grid)
        for ratio, halves in now.halves.items()
    }
    return _with(now, covers, None, ())


def _with(
    now: MeasuredAgain,
    covers: Mapping[float, DesignCover],
    changed: tuple[int, ...] | None,
    windows: tuple[Window, ...],
) -> MeasuredAgain:
    return MeasuredAgain(
        now.areas_key, now.grid, now.boxes, now.laid, now.halves, covers, changed, windows
    )


def _again(
    labels: NDArray[np.int32], now: MeasuredAgain, before: MeasuredAgain
) -> MeasuredAgain | None:
    """Return the covers by way of what changed, or None where that is not possible or no gain."""
    if (now.areas_key, now.grid, tuple(now.halves)) != (
        before.areas_key, before.grid, tuple(before.halves),
    ):  # fmt: skip
        return None
    gone, new = changed_pieces(_pieces(before), _pieces(now))
    reach = max((float(h.max(initial=0.0)) for m in (now, before) for h in m.halves.values()),
                default=0.0)  # fmt: skip
    windows = changed_windows(np.concatenate([gone, new])[:, :4], reach, now.grid)
    if windows is None:
        return None
    covers: dict[float, DesignCover] = {}
    touched: set[int] = set()
    for ratio, halves in now.halves.items():
        layers = before.covers[ratio].layers.copy()
        for window in windows:
            _recount(layers, now.laid, halves, window, now.grid)
        answer = _areas_again(labels, layers, before.covers[ratio].areas, windows, now)
        if answer is None:
            return None
        covers[ratio] = DesignCover(answer[0], layers)
        touched |= answer[1]
    return _with(now, covers, tuple(sorted(touched)), tuple(windows))


def _pieces(measured: MeasuredAgain) -> NDArray[np.float64]:
    columns = [measured.laid.segments_mm, *(h[:, None] for h in measured.halves.values())]
    return np.ascontiguousarray(np.hstack(columns))


def _recount(
    layers: NDArray[np.uint16],
    laid: LaidThread,
    halves: NDArray[np.float64],
    window: Window,
    grid: Grid,
) -> None:
    near = touching(laid.segments_mm, float(halves.max(initial=0.0)), window, grid)
    pieces, widths = laid.segments_mm[near], halves[near]
    recount_layers(layers, pieces, widths, grid, window)
    for ends in (pieces[:, :2], pieces[:, 2:]):
        close_ends_in(layers, np.ascontiguousarray(ends), widths, grid, window)


def _areas_again(
    labels: NDArray[np.int32],
    layers: NDArray[np.uint16],
    before: tuple[AreaCover, ...],
    windows: list[Window],
    now: MeasuredAgain,
) -> tuple[tuple[AreaCover, ...], set[int]] | None:
    """Return all areas' covers, those near the windows measured again, and which those are.

    A bare pixel's distance to thread can change only when it lies within the widest bare reach of
    a window. Measured on a box with as much room, distances are those of the whole raster.
    """
    grid, pixel = now.grid, now.grid.pixel_mm
    reach = (max((a.widest_gap_mm for a in before), default=0.0) / pixel + 1.0) / 2.0
    touched: set[int] = set()
    for window in windows:
        top, bottom, left, right = grown(window, reach + 2, grid)
        touched |= set(np.unique(labels[top:bottom, left:right]).tolist())
    touched.discard(-1)
    areas = list(before)
    for group in _together(sorted(touched), now.boxes):
        room = reach + ROOM_PX
        box = now.boxes[group]
        top, bottom, left, right = grown(
            (int(box[:, 0].min()), int(box[:, 1].max()), int(box[:, 2].min()),
             int(box[:, 3].max())), room, grid,
        )  # fmt: skip
        crop = np.s_[top:bottom, left:right]
        found = area_covers(
            np.ascontiguousarray(labels[crop]),
            np.ascontiguousarray(layers[crop]),
            len(before),
            grid,
            (top, left),
        )
        for area in group:
            if (found[area].widest_gap_mm / pixel + 1.0) / 2.0 > room - 1.0:
                return None
            areas[area] = found[area]
    return tuple(areas), touched


def _together(areas: list[int], boxes: NDArray[np.int64]) -> list[list[int]]:
    """Return areas in groups whose boxes overlap, so that no pixel is looked at many times."""
    groups: list[tuple[list[int], NDArray[np.int64]]] = []
    for area in sorted(areas, key=lambda a: (-_size(boxes[a]), a)):
        box = boxes[area]
        for members, whole in groups:
            if (
                box[0] >= whole[0] and box[1] <= whole[1]
                and box[2] >= whole[2] and box[3] <= whole[3]
            ):  # fmt: skip
                members.append(area)
                break
        else:
            groups.append(([area], box))
    return [members for members, _box in groups]


def _size(box: NDArray[np.int64]) -> int:
    return int((box[1] - box[0]) * (box[3] - box[2]))
