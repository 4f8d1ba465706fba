"""The written stitch list as thread on a grid of 0.05 mm, drawn by nothing of the planner's.

Input: the text of ``stitches.csv`` and ``threads.json``. Output: for each grid point how often it
is covered and which thread lies on top. Each stitch is a bar with round ends, as wide as its thread
lies: 0.40 mm at 26.7 tex, by the square root of tex.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

PIXEL_MM = 0.05
LAID_MM_AT_26_7_TEX = 0.40
NO_THREAD = -1


@dataclass(frozen=True)
class StitchList:
    """Columns of the written file: (n, 2) float64 mm, (n,) str, (n,) int, and the threads."""

    xy_mm: NDArray[np.float64]
    action: NDArray[np.str_]
    thread: NDArray[np.int64]
    threads: list[dict[str, object]]

    @property
    def segments(self) -> NDArray[np.int64]:
        """(m,) rows i whose thread lies from row i-1 to row i."""
        stitch = self.action == "stitch"
        joined = stitch[1:] & stitch[:-1] & (self.thread[1:] == self.thread[:-1])
        return np.flatnonzero(joined) + 1

    @property
    def colors(self) -> NDArray[np.uint8]:
        """(t, 3) sRGB of the threads."""
        codes = [bytes.fromhex(str(t["hex"])[1:]) for t in self.threads]
        return np.frombuffer(b"".join(codes), np.uint8).reshape(-1, 3)


@dataclass(frozen=True)
class Grid:
    """Pixel centres at ``left + (col + ½) PIXEL_MM`` and ``top − (row + ½) PIXEL_MM``."""

    left_mm: float
    top_mm: float
    n_rows: int
    n_cols: int

    @classmethod
    def around(cls, half_width_mm: float, half_height_mm: float, margin_mm: float = 3.0) -> Grid:
        """Return the grid about the origin that leaves a margin round a box."""
        cols = 2 * int(np.ceil((half_width_mm + margin_mm) / PIXEL_MM))
        rows = 2 * int(np.ceil((half_height_mm + margin_mm) / PIXEL_MM))
        return cls(-cols * PIXEL_MM / 2, rows * PIXEL_MM / 2, rows, cols)

    @property
    def shape(self) -> tuple[int, int]:
        return (self.n_rows, self.n_cols)

    def to_mm(self, row: float, col: float) -> tuple[float, float]:
        """Return the place of a pixel's centre."""
        return (
            self.left_mm + (col + 0.5) * PIXEL_MM,
            self.top_mm - (row + 0.5) * PIXEL_MM,
        )


def read_stitch_list(csv_text: str, threads_text: str) -> StitchList:
    rows = list(csv.DictReader(io.StringIO(csv_text)))
    return StitchList(
        xy_mm=np.array([(float(r["x_mm"]), float(r["y_mm"])) for r in rows]).reshape(-1, 2),
        action=np.array([r["action"] for r in rows], dtype=np.str_),
        thread=np.array([int(r["thread"]) for r in rows], dtype=np.int64),
        threads=json.loads(threads_text),
    )


def draw_threads(stitches: StitchList, grid: Grid) -> tuple[NDArray[np.uint16], NDArray[np.int16]]:
    """Return (h, w) layer counts and (h, w) the topmost thread, ``NO_THREAD`` where cloth shows."""
    layers = np.zeros(grid.shape, np.uint16)
    top = np.full(grid.shape, NO_THREAD, np.int16)
    rows = stitches.segments
    if not len(rows):
        return layers, top
    changes = np.flatnonzero(np.diff(stitches.thread[rows])) + 1
    for block in np.split(rows, changes):
        thread = int(stitches.thread[block[0]])
        tex = float(str(stitches.threads[thread]["tex"]))
        width = LAID_MM_AT_26_7_TEX * np.sqrt(tex / 26.7)
        count = _count_bars(stitches.xy_mm[block - 1], stitches.xy_mm[block], width / 2, grid)
        layers += count
        top[count > 0] = thread
    return layers, top


def _count_bars(
    start: NDArray[np.float64], end: NDArray[np.float64], radius_mm: float, grid: Grid
) -> NDArray[np.uint16]:
    """Return how many bars with round ends cover each pixel centre.

    A bar is convex, so every pixel row meets it in one interval; intervals are added as +1 and −1
    in a difference table that is summed once.
    """
    steps = np.zeros((grid.n_rows, grid.n_cols + 1), np.int32)
    top_row = np.ceil((grid.top_mm - np.maximum(start, end)[:, 1] - radius_mm) / PIXEL_MM - 0.5)
    last_row = np.floor((grid.top_mm - np.minimum(start, end)[:, 1] + radius_mm) / PIXEL_MM - 0.5)
    first = np.clip(top_row, 0, grid.n_rows).astype(np.int64)
    n_rows = np.clip(last_row, -1, grid.n_rows - 1).astype(np.int64) - first + 1
    for part in _parts(n_rows):
        bar = np.repeat(part, n_rows[part])
        offset = np.arange(len(bar)) - np.repeat(
            np.cumsum(n_rows[part]) - n_rows[part], n_rows[part]
        )
        row = first[bar] + offset
        y = grid.top_mm - (row + 0.5) * PIXEL_MM
        left, right = _interval(start[bar], end[bar], y, radius_mm)
        c0 = np.ceil((left - grid.left_mm) / PIXEL_MM - 0.5).astype(np.int64)
        c1 = np.floor((right - grid.left_mm) / PIXEL_MM - 0.5).astype(np.int64) + 1
        c0, c1 = np.clip(c0, 0, grid.n_cols), np.clip(c1, 0, grid.n_cols)
        keep = c1 > c0
        np.add.at(steps, (row[keep], c0[keep]), 1)
        np.add.at(steps, (row[keep], c1[keep]), -1)
    return np.cumsum(steps[:, :-1], axis=1).astype(np.uint16)


def _parts(n_rows: NDArray[np.int64], most: int = 2_000_000) -> list[NDArray[np.int64]]:
    """Split the bars so that no part makes more than about ``most`` intervals."""
    bars = np.flatnonzero(n_rows > 0)
    if not len(bars):
        return []
    piece = np.cumsum(n_rows[bars]) // most
    return np.split(bars, np.flatnonzero(np.diff(piece)) + 1)


def _interval(
    a: NDArray[np.float64], b: NDArray[np.float64], y: NDArray[np.float64], radius: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the left and right end of each bar on its row; left > right where it misses."""
    left = np.full(len(y), np.inf)
    right = np.full(len(y), -np.inf)
    for end in (a, b):
        inside = radius**2 - (y - end[:, 1]) ** 2
        half = np.sqrt(np.maximum(inside, 0.0))
        hit = inside >= 0
        left = np.where(hit, np.minimum(left, end[:, 0] - half), left)
        right = np.where(hit, np.maximum(right, end[:, 0] + half), right)
    along = b - a
    length = np.hypot(along[:, 0], along[:, 1])
    safe = np.where(length > 0, length, 1.0)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / safe[:, None] * radius
    corners = (a + normal, b + normal, b - normal, a - normal)
    for p, q in zip(corners, (*corners[1:], corners[0]), strict=True):
        rise = q[:, 1] - p[:, 1]
        t = (y - p[:, 1]) / np.where(rise == 0, 1.0, rise)
        hit = (rise != 0) & (t >= 0) & (t <= 1) & (length > 0)
        x = p[:, 0] + t * (q[:, 0] - p[:, 0])
        left = np.where(hit, np.minimum(left, x), left)
        right = np.where(hit, np.maximum(right, x), right)
    return left, right
