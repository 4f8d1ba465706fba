"""The quality figures of a sewn design, and where it is worst.

Input: a written stitch list and the original drawing. Output: the figures named in ``Figures``, and
for the ones that are areas the place of the largest fault, for looking at it.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING

import cv2
import numpy as np
from skimage.color import deltaE_ciede2000, rgb2lab

from benchmarks.art_raster import ArtRaster, rasterise_art
from benchmarks.stitch_raster import NO_THREAD, PIXEL_MM, Grid, StitchList, draw_threads

if TYPE_CHECKING:
    from numpy.typing import NDArray

INSIDE_MM = 0.2
SPOT_MM = 0.5
OUTSIDE_MM = 0.5
SHORTEST_STEP_MM = 0.3
LONGEST_STEP_MM = 12.0
TIE_ROWS = 6
UNSEEN_DELTA_E = 1.5
TIE_CLUSTER_MM = 1.0


@dataclass
class Figures:
    """Shares are of 1; ``places`` gives (x, y) mm of the largest fault of a kind."""

    bare_share: float = 0.0
    spots: int = 0
    spots_with_rim: int = 0
    outside_share: float = 0.0
    right_color: float = 1.0
    right_color_inside: float = 1.0
    short_steps: int = 0
    long_steps: int = 0
    trims: int = 0
    ties_within_1mm: int = 0
    holes_mm2_max: int = 0
    holes_mm2_p99: float = 0.0
    most_layers: int = 0
    stitches: int = 0
    colors: int = 0
    places: dict[str, tuple[float, float]] = field(default_factory=dict)

    def as_dict(self) -> dict[str, object]:
        return asdict(self)


@dataclass(frozen=True)
class Measured:
    """The figures with the rasters they were taken from, for pictures of the faults."""

    figures: Figures
    art: ArtRaster
    top: NDArray[np.int16]
    wanted: NDArray[np.int16]
    is_right: NDArray[np.bool_]
    stitches: StitchList


def measure(stitches: StitchList, svg: str, *, height_mm: float) -> Measured:
    """Return every quality figure of one design."""
    half = np.abs(stitches.xy_mm[stitches.action == "stitch"]).max(axis=0, initial=0.0)
    art = rasterise_art(svg, height_mm=height_mm, half_size_mm=(float(half[0]), float(half[1])))
    layers, top = draw_threads(stitches, art.grid)
    wanted, right = _wanted_threads(art, stitches.colors, top)
    figures = Figures(most_layers=int(layers.max()), colors=len(stitches.threads))
    _measure_cover(figures, art, top != NO_THREAD)
    _measure_color(figures, art, right & (top != NO_THREAD), wanted, seen=top != NO_THREAD)
    _measure_stitches(figures, stitches)
    return Measured(figures, art, top, wanted, right, stitches)


def _measure_cover(figures: Figures, art: ArtRaster, covered: NDArray[np.bool_]) -> None:
    inside = _distance_mm(art.is_art) > INSIDE_MM
    bare = inside & ~covered
    figures.bare_share = float(bare.sum() / max(inside.sum(), 1))
    _note(figures, "bare_share", bare, art.grid)
    deep = _distance_mm(bare)
    figures.spots = _count_spots(deep)
    figures.spots_with_rim = _count_spots(_distance_mm(art.is_art & ~covered))
    if figures.spots:
        place = np.unravel_index(np.argmax(deep), deep.shape)
        figures.places["spots"] = art.grid.to_mm(*map(float, place))
    away = covered & (_distance_mm(~(art.is_art | art.is_enclosed)) > OUTSIDE_MM)
    figures.outside_share = float(away.sum() / max(covered.sum(), 1))
    _note(figures, "outside_share", away, art.grid)


def _measure_color(
    figures: Figures,
    art: ArtRaster,
    right: NDArray[np.bool_],
    wanted: NDArray[np.int16],
    *,
    seen: NDArray[np.bool_],
) -> None:
    seen = seen & art.is_art
    figures.right_color = float(right[seen].mean()) if seen.any() else 0.0
    radius = round(INSIDE_MM / PIXEL_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    inside = np.zeros_like(seen)
    for thread in np.unique(wanted[art.is_art]):
        own = (art.is_art & (wanted == thread)).astype(np.uint8)
        inside |= cv2.erode(own, disc).astype(bool)
    inside &= seen
    figures.right_color_inside = float(right[inside].mean()) if inside.any() else 0.0
    _note(figures, "right_color", inside & ~right, art.grid)


def _wanted_threads(
    art: ArtRaster, thread_rgb: NDArray[np.uint8], top: NDArray[np.int16]
) -> tuple[NDArray[np.int16], NDArray[np.bool_]]:
    """Return (h, w) the used thread nearest to the art's colour, and whether the top one is right.

    The measure is CIEDE2000. A thread is right too when it is as near as the nearest to within a
    difference nobody sees: art drawn in two all but equal colours may be sewn in one.
    """
    codes = (art.rgb[..., 0].astype(np.int32) << 16) | (
        art.rgb[..., 1].astype(np.int32) << 8
    ) | art.rgb[..., 2]  # fmt: skip
    # A table of all 24-bit codes is some ten times faster than sorting millions of pixels.
    unique = np.flatnonzero(np.bincount(codes.ravel(), minlength=1 << 24))
    position = np.zeros(1 << 24, np.int32)
    position[unique] = np.arange(len(unique))
    inverse = position[codes]
    rgb = np.stack([unique >> 16, unique >> 8 & 255, unique & 255], axis=1).astype(np.uint8)
    apart = deltaE_ciede2000(rgb2lab(rgb[:, None]), rgb2lab(thread_rgb[None]))
    is_right = apart <= apart.min(axis=1, keepdims=True) + UNSEEN_DELTA_E
    return apart.argmin(axis=1).astype(np.int16)[inverse], is_right[inverse, top]


def _measure_stitches(figures: Figures, stitches: StitchList) -> None:
    is_stitch = stitches.action == "stitch"
    figures.stitches = int(is_stitch.sum())
    figures.trims = int((stitches.action == "trim").sum())
    rows = stitches.segments
    steps = np.hypot(*(stitches.xy_mm[rows] - stitches.xy_mm[rows - 1]).T)
    begin, end = _runs(is_stitch)
    near_tie = np.zeros(len(is_stitch), bool)
    for a, b in zip(begin, end, strict=True):
        near_tie[a : min(a + TIE_ROWS + 1, b)] = True
        near_tie[max(b - TIE_ROWS, a) : b] = True
    figures.short_steps = int(((steps < SHORTEST_STEP_MM - 0.01) & ~near_tie[rows]).sum())
    figures.long_steps = int((steps > LONGEST_STEP_MM + 0.01).sum())
    ties = _tie_places(stitches, begin, end)
    if len(ties):
        near = np.hypot(*(ties[:, None] - ties[None]).transpose(2, 0, 1)) <= TIE_CLUSTER_MM
        figures.ties_within_1mm = int(near.sum(axis=1).max())
        worst = ties[int(near.sum(axis=1).argmax())]
        figures.places["ties_within_1mm"] = (float(worst[0]), float(worst[1]))
    _measure_holes(figures, stitches.xy_mm[is_stitch])


def _runs(is_stitch: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return first row and row after the last of each unbroken run of stitches."""
    edges = np.diff(np.concatenate([[0], is_stitch.astype(np.int8), [0]]))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def _tie_places(
    stitches: StitchList, begin: NDArray[np.int64], end: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return (k, 2) mm where thread is tied: each side of a cut, of a colour change and the ends.

    A plain jump between two runs leaves the thread whole and needs no tie.
    """
    cuts = np.isin(stitches.action, ("trim", "color_change", "end"))
    cut_count = np.concatenate([[0], np.cumsum(cuts)])
    places = []
    for i, (a, b) in enumerate(zip(begin, end, strict=True)):
        if i == 0 or cut_count[a] > cut_count[end[i - 1]]:
            places.append(stitches.xy_mm[a])
        if i == len(begin) - 1 or cut_count[begin[i + 1]] > cut_count[b]:
            places.append(stitches.xy_mm[b - 1])
    return np.array(places).reshape(-1, 2)


def _measure_holes(figures: Figures, points: NDArray[np.float64]) -> None:
    if len(points):
        figures.holes_mm2_max, figures.holes_mm2_p99, place = crowded_places(points)
        figures.places["holes_mm2_max"] = place


def crowded_places(points: NDArray[np.float64]) -> tuple[int, float, tuple[float, float]]:
    """Return the most penetrations in a square of 1 mm on a grid of 0.1 mm, 99 % point, place."""
    cells = np.floor((points - points.min(axis=0)) / 0.1 + 1e-6).astype(np.int64)
    counts = np.zeros(cells.max(axis=0)[::-1] + 21, np.float32)
    np.add.at(counts, (cells[:, 1] + 10, cells[:, 0] + 10), 1)
    windows = cv2.boxFilter(counts, -1, (10, 10), normalize=False, borderType=cv2.BORDER_CONSTANT)
    used = windows[windows > 0.5]
    row, col = np.unravel_index(np.argmax(windows), windows.shape)
    x, y = points.min(axis=0) + (np.array([col, row]) - 10) * 0.1
    return round(float(used.max())), float(np.percentile(used, 99)), (float(x), float(y))


def _count_spots(deep_mm: NDArray[np.float32]) -> int:
    """Return how many places hold a circle over 0.5 mm across."""
    return int(cv2.connectedComponents((deep_mm > SPOT_MM / 2).astype(np.uint8))[0]) - 1


def _distance_mm(mask: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return the distance of each set pixel to the nearest unset one."""
    return cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 5) * np.float32(PIXEL_MM)


def _note(figures: Figures, name: str, fault: NDArray[np.bool_], grid: Grid) -> None:
    """Remember the centre of the largest connected fault."""
    n, _, stats, centres = cv2.connectedComponentsWithStats(fault.astype(np.uint8))
    if n > 1:
        col, row = centres[1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())]
        figures.places[name] = grid.to_mm(float(row), float(col))
