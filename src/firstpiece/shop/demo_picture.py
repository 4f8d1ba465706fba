"""The demo's customer picture: a community orchard's emblem, drawn here and then roughened.

The drawing is made of a few flat shapes and hand-lettered strokes; roughening bends its edges,
blurs it, adds grain and saves it as the kind of JPEG that arrives by message.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image, ImageDraw

if TYPE_CHECKING:
    from numpy.typing import NDArray

SIZE_PX = 1100
"""Width and height of the picture that is sent."""

_SCALE = 3
_SEED = 20260

PAPER = (255, 255, 255)
SUN = (244, 184, 40)
CROWN = (62, 138, 58)
SHADE = (30, 88, 48)
BARK = (104, 66, 38)
HILL = (143, 190, 66)
APPLE = (206, 40, 38)
WICKER = (190, 138, 76)

# Hand lettering on a 4 × 6 grid, y down: each stroke is a polyline.
_LETTERS: dict[str, tuple[tuple[tuple[float, float], ...], ...]] = {
    "A": (((0, 6), (2, 0), (4, 6)), ((0.8, 4), (3.2, 4))),
    "D": (((0, 0), (0, 6), (1.8, 6), (3.3, 5), (3.8, 3), (3.3, 1), (1.8, 0), (0, 0)),),
    "F": (((3.4, 0), (0, 0), (0, 6)), ((0, 3), (2.8, 3))),
    "I": (((0, 0), (0, 6)),),
    "L": (((0, 0), (0, 6), (3.2, 6)),),
    "N": (((0, 6), (0, 0), (3.6, 6), (3.6, 0)),),
    "O": (((2, 0), (0.6, 0.9), (0, 3), (0.6, 5.1), (2, 6), (3.4, 5.1), (4, 3), (3.4, 0.9),
           (2, 0)),),
    "R": (((0, 6), (0, 0), (2.2, 0), (3.3, 0.8), (3.3, 2.4), (2.2, 3.2), (0, 3.2)),
          ((1.6, 3.2), (3.6, 6))),
    "W": (((0, 0), (1.2, 6), (2.5, 1.4), (3.8, 6), (5, 0)),),
}  # fmt: skip


def draw_demo_picture() -> bytes:
    """Return the roughened picture as JPEG bytes; always the same."""
    clean = draw_emblem(SIZE_PX)
    rough = _roughen(np.asarray(clean), np.random.default_rng(_SEED))
    out = BytesIO()
    Image.fromarray(rough).save(out, "JPEG", quality=62)
    return out.getvalue()


def draw_emblem(size_px: int) -> Image.Image:
    """Return the emblem before it was roughened, as a square RGB picture."""
    side = SIZE_PX * _SCALE
    picture = Image.new("RGB", (side, side), PAPER)
    pen = ImageDraw.Draw(picture)
    _draw_ground(pen)
    _draw_tree(pen)
    _draw_ladder(pen)
    _draw_basket(pen)
    _draw_lettering(pen, "WINDFALL ROW", x_px=(70, 1030), y_px=(905, 1010), stroke_px=19)
    return picture.resize((size_px, size_px), Image.Resampling.LANCZOS)


def _box(x: float, y: float, rx: float, ry: float | None = None) -> tuple[float, ...]:
    ry = rx if ry is None else ry
    return tuple(_SCALE * v for v in (x - rx, y - ry, x + rx, y + ry))


def _points(*pairs: tuple[float, float]) -> list[tuple[float, float]]:
    return [(x * _SCALE, y * _SCALE) for x, y in pairs]


def _stroke(
    pen: ImageDraw.ImageDraw,
    points: list[tuple[float, float]],
    width_px: float,
    ink: tuple[int, ...],
) -> None:
    """Draw a round-ended, round-cornered line; points are in final pixels."""
    scaled = _points(*points)
    pen.line(scaled, fill=ink, width=round(width_px * _SCALE), joint="curve")
    r = width_px * _SCALE / 2
    for x, y in scaled:
        pen.ellipse((x - r, y - r, x + r, y + r), fill=ink)


def _draw_ground(pen: ImageDraw.ImageDraw) -> None:
    pen.ellipse(_box(838, 262, 128), fill=SUN)
    pen.chord(_box(550, 1010, 500, 260), 180, 360, fill=HILL)
    # The chord's flat side sits at y = 1010; the lettering needs clear paper from 860 on.
    pen.rectangle((*_points((40, 850))[0], *_points((1060, 1020))[0]), fill=PAPER)


def _draw_tree(pen: ImageDraw.ImageDraw) -> None:
    trunk = _points((488, 850), (508, 640), (470, 520), (634, 520), (592, 640), (616, 850))
    pen.polygon(trunk, fill=BARK)
    blobs = ((390, 400, 150), (545, 290, 185), (700, 395, 150), (470, 480, 118), (640, 480, 118))
    for ink, drop in ((SHADE, 34), (CROWN, 0)):
        for x, y, r in blobs:
            pen.ellipse(_box(x, y + drop, r), fill=ink)
    for x, y in ((372, 345), (470, 425), (505, 250), (600, 330), (690, 300), (760, 430),
                 (355, 470), (640, 455)):  # fmt: skip
        pen.ellipse(_box(x, y, 34), fill=APPLE)
        _stroke(pen, [(x, y - 30), (x + 10, y - 48)], 9, BARK)


def _draw_ladder(pen: ImageDraw.ImageDraw) -> None:
    left, right = ((228, 846), (352, 520)), ((306, 850), (424, 538))
    for foot, top in (left, right):
        _stroke(pen, [foot, top], 17, WICKER)
    for share in (0.12, 0.32, 0.52, 0.72, 0.9):
        a = tuple(p + share * (q - p) for p, q in zip(*left, strict=True))
        b = tuple(p + share * (q - p) for p, q in zip(*right, strict=True))
        _stroke(pen, [(a[0], a[1]), (b[0], b[1])], 13, WICKER)


def _draw_basket(pen: ImageDraw.ImageDraw) -> None:
    for x, y in ((752, 738), (806, 726), (860, 738)):
        pen.ellipse(_box(x, y, 36), fill=APPLE)
    body = _points((694, 742), (918, 742), (884, 846), (728, 846))
    pen.polygon(body, fill=WICKER)
    _stroke(pen, [(684, 742), (928, 742)], 24, BARK)


def _draw_lettering(
    pen: ImageDraw.ImageDraw,
    text: str,
    *,
    x_px: tuple[float, float],
    y_px: tuple[float, float],
    stroke_px: float,
) -> None:
    """Letter ``text`` in strokes between the given left/right and top/bottom."""
    widths = [max((x for s in _LETTERS[c] for x, _ in s), default=0.0) if c != " " else 1.6
              for c in text]  # fmt: skip
    gap = 2.7
    unit = (x_px[1] - x_px[0]) / (sum(widths) + gap * (len(text) - 1))
    rise = (y_px[1] - y_px[0]) / 6
    x = x_px[0]
    for letter, width in zip(text, widths, strict=True):
        for stroke in _LETTERS.get(letter, ()):
            points = [(x + u * unit, y_px[0] + v * rise) for u, v in stroke]
            _stroke(pen, points, stroke_px, BARK)
        x += (width + gap) * unit


def _roughen(pixels: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Return the picture as a phone would send it: bent edges, soft focus, grain."""
    h, w = pixels.shape[:2]
    bend = [
        cv2.GaussianBlur(rng.standard_normal((h, w)).astype(np.float32), (0, 0), 14)
        for _ in range(2)
    ]
    dx, dy = (1.6 * b / float(b.std()) for b in bend)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    bent = cv2.remap(pixels, x + dx, y + dy, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    soft = cv2.GaussianBlur(bent, (0, 0), 1.2).astype(np.float32)
    grain = rng.normal(0.0, 5.0, (h, w, 1)).astype(np.float32)
    rough: NDArray[np.uint8] = np.clip(soft + grain, 0, 255).astype(np.uint8)
    return rough
