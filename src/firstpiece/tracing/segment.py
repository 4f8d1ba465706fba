"""A picture to a label map: which pixel belongs to which flat colour, and which stay bare.

Input: RGBA pixels. Output: labels over a cropped and rescaled copy, with their palette. Soft edges
of drawing programs, blur and JPEG halos are shared out between the two colours they lie between,
so that they never become thin areas of their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.kernels.edge_descent import descend_steepness
from firstpiece.kernels.label_relax import nearest_color, relax_labels
from firstpiece.model.region import BARE, TraceOptions
from firstpiece.tracing.components import drop_specks, edge_distance, label_components
from firstpiece.tracing.even_light import even_light
from firstpiece.tracing.mixtures import dissolve_rims, prune_palette
from firstpiece.tracing.palette import find_palette
from firstpiece.tracing.paper import bare_paper, is_paper

if TYPE_CHECKING:
    from numpy.typing import NDArray

SMALLEST_SIDE_PX = 800
LARGEST_SIDE_PX = 1250
OPAQUE = 128
SOLID = 250
SMALLEST_PX = 3.0
CORE_PX = 2.5
"""Pixels this far from every edge show a colour unmixed."""

DESCENT = 3
"""Soft edges up to twice as many pixels are halved between their sides."""

RIM_PX = 5.0
"""Soft edges up to this width are shared out between their two sides."""

# A photograph: away from edges its colours stray from the palette, in many small pieces, or the
# pieces are very many. Measured on 12 photographs (8 of them 3700 to 12,200 pieces per megapixel)
# and 24 flat or softly shaded drawings, roughened or unevenly lit (up to 2150 pieces).
PHOTO_STRAY = 2.2
PHOTO_PIECES = 350.0
MOST_PIECES = 3000.0
LEAST_STRAY = 0.5
TEXTURE_STRAY = 7.0
SHADED_STRAY = 1.5
LEAST_PAINTED = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class LabelMap:
    """Labels per pixel and what they stand for.

    Parameters
    ----------
    labels : (h, w) int32
        Index into ``palette``, or BARE.
    palette : (k, 3) float32
        CIELAB.
    paint : (h, w) int32
        Palette index also where the map is bare; the last colour is clear.
    codes : (h, w, 4) float32
        sRGB codes times alpha, and alpha, 0 to 1: they mix linearly in soft edges.
    n_kept : int
        Enclosed areas of the paper's colour that were kept as paint.
    stray : float
        Median CIELAB distance of painted pixels away from edges to their palette colour.
    is_photo : bool
        True when the picture has no flat areas to speak of.
    unevenness : float
        Share by which light on the paper varied before it was evened out.
    """

    labels: NDArray[np.int32]
    palette: NDArray[np.float32]
    paint: NDArray[np.int32]
    codes: NDArray[np.float32]
    n_kept: int
    stray: float
    is_photo: bool
    unevenness: float = 0.0


def segment_pixels(pixels: NDArray[np.uint8], options: TraceOptions) -> LabelMap:
    """Return the label map of a picture.

    Parameters
    ----------
    pixels : (h, w, 4) uint8
        sRGB and alpha.
    options : TraceOptions
    """
    rgb, alpha, growth = _working_copy(pixels)
    is_clear = alpha < OPAQUE
    unevenness = 0.0
    if not is_clear.any():
        rgb, unevenness = even_light(rgb)
    core_px, rim_px = max(CORE_PX, growth), RIM_PX + 2.0 * max(growth - 1.0, 0.0)
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    grain = _grain(lab)
    lab = _denoise(lab, grain)
    steep = _steepness(lab)
    flatness = 1.0 / (1.0 + (steep / (4.0 + 2.0 * grain)) ** 2)
    seen = ~is_clear
    palette = find_palette(lab[seen], flatness[seen], least_difference=2.5 + grain, grain=grain)
    ends = descend_steepness(steep, 2.0 + 2.0 * grain, round(DESCENT * max(growth, 1.0)))
    settled = np.ascontiguousarray(lab.reshape(-1, 3)[ends])
    labels = nearest_color(settled, palette)
    palette, labels = prune_palette(lab, palette, labels, _even(rgb), core_px=core_px)
    stiffness = 30.0 + 8.0 * grain**2
    labels = relax_labels(settled, palette, labels, stiffness, 4)
    labels[is_clear] = BARE
    # Rims are split half-way in sRGB codes, the scale that blur mixes in; half-way in CIELAB lies
    # nearer the darker side, and dark areas came out 0.4 pixels too small.
    codes = np.ascontiguousarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB) * 100.0)
    colors = np.ascontiguousarray(cv2.cvtColor(palette[None], cv2.COLOR_LAB2RGB)[0] * 100.0)
    labels = dissolve_rims(labels, codes, colors, palette, widest_px=rim_px)
    stray, is_photo = _judge(labels, lab, palette)
    labels, _ = drop_specks(labels, smallest_px=SMALLEST_PX * max(growth, 1.0))
    paint = np.where(labels == BARE, len(palette), labels).astype(np.int32)
    soft_codes = _mixing_codes(codes, alpha)
    n_kept = 0
    if not options.keep_background and not is_clear.any():
        labels, n_kept = bare_paper(labels, palette)
    return LabelMap(labels, palette, paint, soft_codes, n_kept, stray, is_photo, unevenness)


def _working_copy(
    pixels: NDArray[np.uint8],
) -> tuple[NDArray[np.uint8], NDArray[np.uint8], float]:
    """Colours and alpha at a size that traces smoothly and quickly, and the factor to it."""
    rgb = _fill_clear(pixels)
    alpha = np.ascontiguousarray(pixels[:, :, 3])
    side = max(pixels.shape[:2])
    wanted = min(max(side, SMALLEST_SIDE_PX), LARGEST_SIDE_PX)
    scale = wanted / side
    if scale == 1.0:
        return rgb, alpha, 1.0
    size = tuple(max(1, round(n * scale)) for n in (pixels.shape[1], pixels.shape[0]))
    method = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_CUBIC
    return (
        np.asarray(cv2.resize(rgb, size, interpolation=method), dtype=np.uint8),
        np.asarray(cv2.resize(alpha, size, interpolation=method), dtype=np.uint8),
        scale,
    )


def _fill_clear(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Colours with soft alpha laid over white, and edges coloured like the nearest paint.

    Otherwise whatever colour a program left under and beside clear pixels would make rims.
    """
    rgb = np.ascontiguousarray(pixels[:, :, :3])
    alpha = pixels[:, :, 3]
    if alpha.min(initial=255) == 255 or not (alpha >= OPAQUE).any():
        return rgb
    near_clear = cv2.dilate((alpha < OPAQUE).astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    share = alpha[:, :, None].astype(np.float32) / 255.0
    over_white = (rgb * share + 255.0 * (1.0 - share)).round().astype(np.uint8)
    solid = (~near_clear | (alpha >= SOLID)).astype(np.uint8)
    if not solid.any():
        return np.asarray(over_white, dtype=np.uint8)
    _, nearest = cv2.distanceTransformWithLabels(
        1 - solid, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    source: NDArray[np.uint8] = np.zeros((int(nearest.max()) + 1, 3), dtype=np.uint8)
    source[nearest[solid > 0]] = over_white[solid > 0]
    return np.asarray(source[nearest], dtype=np.uint8)


def _grain(lab: NDArray[np.float32]) -> float:
    """Return the standard deviation of the noise in lightness, by the median absolute Laplacian."""
    kernel = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], dtype=np.float32)
    rough = np.abs(cv2.filter2D(lab[:, :, 0], -1, kernel))
    # The kernel multiplies white noise by 6 (root of its sum of squares); the median of
    # |N(0, 1)| is 0.6745.
    return float(np.median(rough)) / (6.0 * 0.6745)


def _denoise(lab: NDArray[np.float32], grain: float) -> NDArray[np.float32]:
    smooth = cv2.bilateralFilter(lab, 5, 8.0 + 4.0 * grain, 2.0)
    if grain > 1.0:
        smooth = cv2.bilateralFilter(smooth, 7, 8.0 + 3.0 * grain, 3.0)
    return np.asarray(smooth, dtype=np.float32)


def _even(rgb: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Which pixels hold the same colour as all their neighbours, to one code."""
    square = np.ones((3, 3), dtype=np.uint8)
    spread = cv2.subtract(cv2.dilate(rgb, square), cv2.erode(rgb, square))
    return np.asarray(spread.max(axis=2) <= 1)


def _steepness(lab: NDArray[np.float32]) -> NDArray[np.float32]:
    """Change of colour per pixel, in CIELAB units."""
    dx = cv2.Scharr(lab, cv2.CV_32F, 1, 0) / 32.0
    dy = cv2.Scharr(lab, cv2.CV_32F, 0, 1) / 32.0
    return np.asarray(np.sqrt((dx * dx + dy * dy).sum(axis=2)), dtype=np.float32)


def _mixing_codes(codes: NDArray[np.float32], alpha: NDArray[np.uint8]) -> NDArray[np.float32]:
    share = alpha[:, :, None].astype(np.float32) / 255.0
    both = np.concatenate([codes * (share / 100.0), share], axis=2)
    return np.ascontiguousarray(both, dtype=np.float32)


def mixing_colors(palette: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the palette as mixing codes, with a clear colour at its end.

    Parameters
    ----------
    palette : (k, 3) float32
        CIELAB.

    Returns
    -------
    (k + 1, 4) float32
        sRGB codes 0 to 1 and alpha.
    """
    colors = np.zeros((len(palette) + 1, 4), dtype=np.float32)
    colors[:-1, :3] = cv2.cvtColor(palette[None], cv2.COLOR_LAB2RGB)[0]
    colors[:-1, 3] = 1.0
    return colors


def _judge(
    labels: NDArray[np.int32], lab: NDArray[np.float32], palette: NDArray[np.float32]
) -> tuple[float, bool]:
    """How far paint strays from its flat colour, and whether that makes it a photograph."""
    painted = (labels >= 0) & (edge_distance(labels) > CORE_PX)
    painted &= ~is_paper(palette)[np.maximum(labels, 0)]
    pieces = label_components(labels)[1].size / labels.size * 1e6
    if painted.mean() < LEAST_PAINTED:
        return 0.0, pieces > 2.0 * MOST_PIECES
    off = np.sqrt(((lab[painted] - palette[labels[painted]]) ** 2).sum(axis=1))
    stray = float(np.median(off))
    if stray <= LEAST_STRAY:
        return stray, False
    limit = PHOTO_PIECES if stray > PHOTO_STRAY else MOST_PIECES
    return stray, stray > TEXTURE_STRAY or pieces > limit
