"""Crops of the worst places of a design: the art, the thread as it lies, and the fault marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image

from benchmarks.stitch_raster import NO_THREAD, PIXEL_MM

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from benchmarks.figures import Measured

CROP_MM = 14.0
SCALE = 2
CLOTH = (225, 222, 214)
BARE = (255, 0, 255)
WRONG = (0, 220, 255)
OUTSIDE = (255, 120, 0)


def draw_faults(measured: Measured, folder: Path, name: str) -> dict[str, str]:
    """Write a picture of each fault (art, thread, stitches; faults marked); return the paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = {}
    for kind, place in measured.figures.places.items():
        path = folder / f"{name}-{kind}.png"
        Image.fromarray(_crop(measured, place)).save(path)
        written[kind] = str(path)
    path = folder / f"{name}-whole.png"
    Image.fromarray(_whole(measured)).save(path)
    written["whole"] = str(path)
    return written


def _sewn_rgb(measured: Measured) -> NDArray[np.uint8]:
    """Return (h, w, 3): cloth, topmost thread, and faults in signal colours."""
    palette = np.vstack([measured.stitches.colors, np.array([CLOTH], np.uint8)])
    sewn = palette[measured.top]  # NO_THREAD is -1 and picks the last row, the cloth
    art, covered = measured.art.is_art, measured.top != NO_THREAD
    sewn[art & ~covered] = BARE
    sewn[covered & ~art & ~measured.art.is_enclosed] = _mix(
        sewn[covered & ~art & ~measured.art.is_enclosed], OUTSIDE
    )
    wrong = art & covered & ~measured.is_right
    sewn[wrong] = _mix(sewn[wrong], WRONG)
    return sewn


def _mix(rgb: NDArray[np.uint8], mark: tuple[int, int, int]) -> NDArray[np.uint8]:
    return ((rgb.astype(np.uint16) + np.array(mark, np.uint16)) // 2).astype(np.uint8)


def _crop(measured: Measured, place: tuple[float, float]) -> NDArray[np.uint8]:
    grid = measured.art.grid
    half = round(CROP_MM / PIXEL_MM / 2)
    row = int((grid.top_mm - place[1]) / PIXEL_MM)
    col = int((place[0] - grid.left_mm) / PIXEL_MM)
    r0 = int(np.clip(row - half, 0, max(grid.n_rows - 2 * half, 0)))
    c0 = int(np.clip(col - half, 0, max(grid.n_cols - 2 * half, 0)))
    window = (slice(r0, r0 + 2 * half), slice(c0, c0 + 2 * half))
    sewn = _sewn_rgb(measured)[window]
    panels = [measured.art.rgb[window], sewn, _with_stitches(measured, sewn, r0, c0)]
    big = [np.repeat(np.repeat(p, SCALE, axis=0), SCALE, axis=1) for p in panels]
    bar = np.full((big[0].shape[0], 8, 3), 255, np.uint8)
    return np.hstack([big[0], bar, big[1], bar, big[2]])


def _with_stitches(
    measured: Measured, sewn: NDArray[np.uint8], r0: int, c0: int
) -> NDArray[np.uint8]:
    picture = np.ascontiguousarray((sewn.astype(np.uint16) + 255) // 2).astype(np.uint8)
    grid, xy = measured.art.grid, measured.stitches.xy_mm
    at = np.stack(
        [(xy[:, 0] - grid.left_mm) / PIXEL_MM - c0, (grid.top_mm - xy[:, 1]) / PIXEL_MM - r0],
        axis=1,
    )
    rows = measured.stitches.segments
    lines = np.stack([at[rows - 1], at[rows]], axis=1).round().astype(np.int32)
    cv2.polylines(picture, list(lines), isClosed=False, color=(40, 40, 40), thickness=1)
    for x, y in at[measured.stitches.action == "stitch"].round().astype(int):
        if 0 <= y < picture.shape[0] and 0 <= x < picture.shape[1]:
            picture[y - 1 : y + 2, x - 1 : x + 2] = (200, 0, 0)
    return picture


def _whole(measured: Measured, longest_px: int = 900) -> NDArray[np.uint8]:
    panels = [measured.art.rgb, _sewn_rgb(measured)]
    factor = min(1.0, longest_px / max(panels[0].shape[:2]))
    size = (round(panels[0].shape[1] * factor), round(panels[0].shape[0] * factor))
    return np.hstack([cv2.resize(p, size, interpolation=cv2.INTER_AREA) for p in panels])
