"""The original and the cleaned design are laid on each other only where they lie on each other.

Source of the check: pictures whose painted box is known because the test draws them.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from tests.web.plans import setup_on

from firstpiece.files.picture import read_artwork, write_png
from firstpiece.shop.demo_picture import draw_demo_picture
from firstpiece.tracing.stage import trace_artwork
from firstpiece.web.picture_match import _sewn_mask, painted_box


def _traced(data: bytes, name: str):
    artwork = read_artwork(data, name=name)
    rack = setup_on("tee-white").thread.colors
    return artwork, trace_artwork(artwork, height_mm=60.0, rack=rack)


def _ring_png(left: int, top: int, side: int, *, alpha: bool) -> bytes:
    pixels = np.full((300, 400, 4 if alpha else 3), 255, np.uint8)
    rows, cols = np.mgrid[0:300, 0:400] + 0.5
    away = np.hypot(rows - top - side / 2, cols - left - side / 2)
    ring = (away < side / 2) & (away > side / 5)
    pixels[ring, :3] = (200, 40, 40)
    if alpha:
        pixels[:, :, 3] = np.where(ring, 255, 0)
    return write_png(pixels)


@pytest.mark.parametrize("alpha", [False, True])
def test_the_box_is_where_it_was_drawn(alpha):
    box = painted_box(*_traced(_ring_png(90, 40, 200, alpha=alpha), "ring.png"))
    assert box == pytest.approx((90 / 400, 40 / 300, 200 / 400, 200 / 300), abs=0.006)


def test_a_drawing_is_placed_by_its_shapes():
    svg = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 100">
      <rect width="200" height="100" fill="#fff"/><rect x="40" y="20" width="80" height="60"
      fill="#c03020"/></svg>"""
    box = painted_box(*_traced(svg, "block.svg"))
    assert box == pytest.approx((0.2, 0.2, 0.4, 0.6), abs=1e-6)


def test_the_orchard_lies_on_itself():
    box = painted_box(*_traced(draw_demo_picture(), "orchard.jpg"))
    assert box is not None
    assert min(box) > 0.0


def test_a_design_that_lies_elsewhere_is_not_laid_over():
    _artwork, region_map = _traced(_ring_png(90, 40, 200, alpha=False), "ring.png")
    other = np.full((300, 400, 3), 255, np.uint8)
    other[:, :40] = other[20:60] = 0
    assert painted_box(read_artwork(write_png(other), name="x.png"), region_map) is None
    assert _sewn_mask(region_map).mean() == pytest.approx(
        sum(r.polygon.area for r in region_map.sewn_regions)
        / shapely.box(0, 0, region_map.width_mm, region_map.height_mm).area,
        abs=0.02,
    )
