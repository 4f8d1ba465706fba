"""Pictures and drawings whose areas are known, for the tracing tests."""

from io import BytesIO

import cv2
import numpy as np
import shapely
from PIL import Image

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.artwork import Artwork, PaintedShape
from firstpiece.model.region import region_faults
from firstpiece.tracing.stage import trace_artwork

RACK = CardDrawer().thread("poly-40").colors
WHITE, BLACK = (255, 255, 255), (20, 20, 22)
RED, GREEN, BLUE = (204, 40, 38), (62, 138, 58), (31, 79, 163)
BROWN, GOLD, CREAM = (104, 66, 38), (244, 184, 40), (240, 228, 200)


def paint(size, *layers, paper=WHITE):
    """Pixels (h, w, 3) of shapes in pixel coordinates, y down, edges softened eight times over."""
    width, height = size
    canvas = np.empty((height, width, 3), dtype=np.float64)
    canvas[:] = paper
    for shape, rgb in layers:
        mask = np.zeros((height * 8, width * 8), dtype=np.uint8)
        for polygon in shapely.get_parts(shape):
            rings = [polygon.exterior, *polygon.interiors]
            points = [np.round(np.array(r.coords) * 8 - 0.5).astype(np.int32) for r in rings]
            cv2.fillPoly(mask, points, 255)
        cover = cv2.resize(mask, (width, height), interpolation=cv2.INTER_AREA)[:, :, None] / 255.0
        canvas = cover * np.array(rgb, dtype=np.float64) + (1.0 - cover) * canvas
    return canvas.round().astype(np.uint8)


def pixels_art(rgb, alpha=None, name="picture"):
    height, width = rgb.shape[:2]
    solid = np.full((height, width), 255, dtype=np.uint8) if alpha is None else alpha
    pixels = np.dstack([rgb, solid])
    return Artwork(name=name, width=float(width), height=float(height), pixels=pixels)


def shapes_art(*layers, size=(400.0, 300.0)):
    painted = tuple(PaintedShape(shape, rgb) for shape, rgb in layers)
    return Artwork(name="drawing", width=size[0], height=size[1], shapes=painted)


def roughen(rgb, *, blur=1.0, noise=5.0, quality=40, seed=7):
    """The picture after a blur, grain and JPEG."""
    rng = np.random.Generator(np.random.PCG64(seed))
    soft = cv2.GaussianBlur(rgb.astype(np.float64), (0, 0), blur)
    grainy = np.clip(soft + rng.normal(0.0, noise, rgb.shape), 0, 255).astype(np.uint8)
    out = BytesIO()
    Image.fromarray(grainy).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(BytesIO(out.getvalue())))


def trace(artwork, height_mm=100.0, **options):
    region_map = trace_artwork(artwork, height_mm=height_mm, rack=RACK, **options)
    assert region_faults(region_map) == ()
    return region_map


def areas_by_thread(region_map):
    """mm² by thread name; bare areas under "bare"."""
    total = {}
    for region in region_map.regions:
        name = "bare" if region.is_bare else region_map.thread_of(region).name
        total[name] = total.get(name, 0.0) + region.polygon.area
    return total


def circle(x, y, radius):
    return shapely.Point(x, y).buffer(radius, quad_segs=64)
