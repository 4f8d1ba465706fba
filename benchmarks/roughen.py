"""Make a clean drawing into the picture a customer sends: wobbled, blurred, noisy, JPEG.

Input: an SVG and a seed. Output: picture bytes, the same for the same input. The order is that of
a photo or scan of a hand-cut shape: the outline wobbles first, then the lens, the sensor, the file.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image

from benchmarks.art_raster import find_ground, lay_on_paper, painted_box, render_svg

if TYPE_CHECKING:
    from numpy.typing import NDArray

ART_PX = 1200
MARGIN_PX = 40
WOBBLE_SHARE = 0.0008
WOBBLE_LENGTH_SHARE = 0.02
BLUR_PX = 1.0
NOISE_CODES = 4.0
JPEG_QUALITY = 60


def clean_picture(svg: str) -> NDArray[np.uint8]:
    """Return (h, w, 3) the drawing on white, its painted box ``ART_PX`` on the longer side."""
    probe = render_svg(svg, 600)
    top, bottom, left, right = painted_box(~find_ground(probe)[0])
    longer = max(bottom - top, right - left)
    width = int(min(600 * ART_PX / longer, 8000, 8000 * 600 / probe.shape[0]))
    rgba = render_svg(svg, width)
    top, bottom, left, right = painted_box(~find_ground(rgba)[0])
    cut = lay_on_paper(rgba)[top:bottom, left:right]
    edge = ((MARGIN_PX, MARGIN_PX), (MARGIN_PX, MARGIN_PX), (0, 0))
    return np.pad(cut, edge, constant_values=255)


def wobble(picture: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Return the picture with every point moved by a smooth random field."""
    h, w = picture.shape[:2]
    size = max(h, w)
    field = rng.standard_normal((2, h, w)).astype(np.float32)
    sigma = WOBBLE_LENGTH_SHARE * size
    smooth = np.stack([cv2.GaussianBlur(f, (0, 0), sigma) for f in field])
    shift = smooth * (WOBBLE_SHARE * size / smooth.std())
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    return cv2.remap(
        picture, x + shift[0], y + shift[1], cv2.INTER_LINEAR, borderValue=(255, 255, 255)
    )


def roughen(svg: str, *, seed: int) -> bytes:
    """Return a JPEG of the drawing as it might arrive."""
    rng = np.random.default_rng(seed)
    picture = wobble(clean_picture(svg), rng)
    blurred = cv2.GaussianBlur(picture, (0, 0), BLUR_PX).astype(np.float32)
    noisy = blurred + NOISE_CODES * rng.standard_normal(blurred.shape).astype(np.float32)
    return _encode(np.clip(np.rint(noisy), 0, 255).astype(np.uint8), "JPEG", quality=JPEG_QUALITY)


def rasterise(svg: str) -> bytes:
    """Return a clean PNG of the drawing on white."""
    return _encode(clean_picture(svg), "PNG")


def _encode(pixels: NDArray[np.uint8], kind: str, **options: int) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(pixels).save(buffer, kind, **options)
    return buffer.getvalue()
