"""The customer's drawing on the same grid as the thread, drawn by an SVG renderer of its own.

Input: the original SVG and the height of its painted box. Output: per grid point its colour, and
whether it is art, paper that reaches the picture's edge, or ground that may be read both ways
(unpainted and enclosed by art, or paper behind a slit narrower than a thread).
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import resvg_py
from lxml import etree
from PIL import Image

from benchmarks.stitch_raster import PIXEL_MM, Grid

if TYPE_CHECKING:
    from numpy.typing import NDArray

PAPER_WHITE = 245
LARGEST_CANVAS_PX = 4500
PROBE_PX = 1000
SLIT_MM = 0.4
CSS_PX = {
    "": 1.0,
    "px": 1.0,
    "pt": 96 / 72,
    "pc": 16.0,
    "in": 96.0,
    "cm": 96 / 2.54,
    "mm": 96 / 25.4,
}


@dataclass(frozen=True)
class ArtRaster:
    """(h, w) masks and (h, w, 3) sRGB on a grid; ``width_mm`` of the painted box."""

    is_art: NDArray[np.bool_]
    is_enclosed: NDArray[np.bool_]
    rgb: NDArray[np.uint8]
    grid: Grid
    width_mm: float


def render_svg(svg: str, width_px: int) -> NDArray[np.uint8]:
    """Return (h, w, 4) uint8 straight alpha."""
    png = bytes(resvg_py.svg_to_bytes(svg_string=_resize(svg, width_px)))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))


def _resize(svg: str, width_px: int) -> str:
    """Return the drawing with a size of whole pixels.

    The renderer rounds a drawing's own size to whole units before it scales, which cuts up to half
    a unit off small drawings; so the size is written into the drawing instead.
    """
    root = etree.fromstring(svg.encode("utf-8"))
    box = root.get("viewBox")
    if box is None:
        sizes = [_to_px(root.get(side) or "") for side in ("width", "height")]
        box = f"0 0 {sizes[0]} {sizes[1]}"
        root.set("viewBox", box)
    width, height = (float(n) for n in box.replace(",", " ").split()[2:])
    root.set("width", str(width_px))
    root.set("height", str(max(1, round(width_px * height / width))))
    root.attrib.pop("preserveAspectRatio", None)
    return etree.tostring(root, encoding="unicode")


def _to_px(text: str) -> float:
    """Return a CSS length in pixels (96 to the inch)."""
    match = re.fullmatch(r"\s*([0-9.eE+-]+)\s*([a-z]*)\s*", text)
    if match is None:
        msg = f"a drawing of the sample has no size: {text!r}"
        raise ValueError(msg)
    return float(match[1]) * CSS_PX[match[2]]


def lay_on_paper(rgba: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return (h, w, 3) the picture over white."""
    mixed = np.ascontiguousarray(rgba[..., :3])
    clear = rgba[..., 3] < 255
    alpha = rgba[clear, 3:].astype(np.uint16)
    mixed[clear] = (mixed[clear] * alpha + 255 * (255 - alpha) + 127) // 255
    return mixed


def find_ground(rgba: NDArray[np.uint8]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return the paper that reaches the edge, and the unpainted ground that does not."""
    paper = cv2.inRange(lay_on_paper(rgba), (PAPER_WHITE,) * 3, (255,) * 3)
    framed = np.pad(paper, 1, constant_values=255)
    _, labels = cv2.connectedComponents(framed, connectivity=4)
    outside = (labels == labels[0, 0])[1:-1, 1:-1]
    return outside, (rgba[..., 3] < 128) & ~outside


def rasterise_art(svg: str, *, height_mm: float, half_size_mm: tuple[float, float]) -> ArtRaster:
    """Return the drawing fitted to ``height_mm``; the grid also covers ``half_size_mm``."""
    probe = render_svg(svg, PROBE_PX)
    box = painted_box(~find_ground(probe)[0])
    wanted = PROBE_PX * (height_mm / PIXEL_MM) / (box[1] - box[0])
    widest = min(LARGEST_CANVAS_PX, LARGEST_CANVAS_PX * PROBE_PX // max(probe.shape[:2]))
    rgba = render_svg(svg, int(np.clip(round(wanted), 200, widest)))
    outside, enclosed = find_ground(rgba)
    top, bottom, left, right = painted_box(~outside)
    mm_per_px = height_mm / (bottom - top)
    rooms = _rooms_behind_slits(outside, slit_px=SLIT_MM / mm_per_px)
    outside, enclosed = outside & ~rooms, enclosed | rooms
    width_mm = (right - left) * mm_per_px
    grid = Grid.around(max(width_mm / 2, half_size_mm[0]), max(height_mm / 2, half_size_mm[1]))
    x = grid.left_mm + (np.arange(grid.n_cols) + 0.5) * PIXEL_MM
    y = grid.top_mm - (np.arange(grid.n_rows) + 0.5) * PIXEL_MM
    cols = np.floor((left + right) / 2 + x / mm_per_px).astype(np.int64)
    rows = np.floor((top + bottom) / 2 - y / mm_per_px).astype(np.int64)
    inside = np.outer((rows >= 0) & (rows < len(rgba)), (cols >= 0) & (cols < rgba.shape[1]))
    pick = np.ix_(np.clip(rows, 0, len(rgba) - 1), np.clip(cols, 0, rgba.shape[1] - 1))
    return ArtRaster(
        is_art=(~outside & ~enclosed)[pick] & inside,
        is_enclosed=enclosed[pick] & inside,
        rgb=np.where(inside[..., None], lay_on_paper(rgba)[pick], np.uint8(255)),
        grid=grid,
        width_mm=width_mm,
    )


def _rooms_behind_slits(outside: NDArray[np.bool_], *, slit_px: float) -> NDArray[np.bool_]:
    """Return the paper that hangs on the edge only by slits narrower than a thread.

    Whether such a room is paper or an enclosed white area is anybody's reading: it is set apart.
    """
    size = 2 * max(1, round(slit_px / 2)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    framed = np.pad(outside.astype(np.uint8), size, constant_values=1)
    _, labels = cv2.connectedComponents(cv2.erode(framed, disc), connectivity=4)
    wide = cv2.dilate((labels == labels[0, 0]).astype(np.uint8), disc)
    return outside & ~wide[size:-size, size:-size].astype(bool)


def painted_box(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Return top, bottom, left, right (ends excluded) of what is set."""
    rows, cols = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return int(rows[0]), int(rows[-1]) + 1, int(cols[0]), int(cols[-1]) + 1
