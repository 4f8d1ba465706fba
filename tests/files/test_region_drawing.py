"""``regions.svg``: checked with outside readers, an XML parser, a rasteriser and shapely."""

from __future__ import annotations

import re
from io import BytesIO
from xml.etree import ElementTree as ET

import numpy as np
import resvg_py
import shapely
from PIL import Image

from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.model.material import ThreadColor
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap

SVG = "{http://www.w3.org/2000/svg}"
RED = ThreadColor('apple <"red"> & ripe', (206, 40, 38), 26.7)
GREEN = ThreadColor("moss", (62, 138, 58), 26.7)


def l_shape_map():
    """An L of red with a bare hole, and a green square in the upper right corner."""
    hole = shapely.box(-9, -9, -6, -6)
    red = shapely.box(-10, -10, 10, 10) - shapely.box(0, 0, 10, 10) - hole
    regions = (
        Region(0, red, 0),
        Region(4, shapely.box(0, 0, 10, 10), 1),
        Region(7, hole, BARE),
    )
    matches = (ColorMatch(RED.rgb, RED, 0.0), ColorMatch(GREEN.rgb, GREEN, 0.0))
    return RegionMap(regions, matches, 20.0, 20.0)


def test_one_path_per_area_with_id_and_title():
    root = ET.fromstring(write_regions_svg(l_shape_map()))
    assert (root.get("width"), root.get("height")) == ("20mm", "20mm")
    assert root.get("viewBox") == "-10 -10 20 20"
    paths = root.findall(f"{SVG}path")
    assert [p.get("data-id") for p in paths] == ["0", "4", "7"]
    assert [p.findtext(f"{SVG}title") for p in paths] == [RED.name, "moss", "bare cloth"]
    assert [p.get("fill") for p in paths] == ["#ce2826", "#3e8a3a", "none"]


def test_the_outlines_have_the_areas_of_the_map():
    # SVG 1.1 (W3C 2011), section 8.3: M, L and Z with absolute coordinates.
    region_map = l_shape_map()
    root = ET.fromstring(write_regions_svg(region_map))
    for path, region in zip(root.findall(f"{SVG}path"), region_map.regions, strict=True):
        rings = [
            [tuple(map(float, p.split(","))) for p in re.findall(r"-?[\d.]+,-?[\d.]+", ring)]
            for ring in path.get("d").split("Z")
            if ring.strip()
        ]
        drawn = shapely.Polygon(rings[0], rings[1:])
        flipped = shapely.transform(drawn, lambda xy: xy * (1, -1))
        assert flipped.symmetric_difference(region.polygon).area < 1e-6


def test_a_rasteriser_sees_the_picture_the_right_way_up():
    png = bytes(resvg_py.svg_to_bytes(svg_string=write_regions_svg(l_shape_map()), dpi=254))
    pixels = np.asarray(Image.open(BytesIO(png)).convert("RGBA"))
    h, w = pixels.shape[:2]
    assert (w, h) == (200, 200)  # 20 mm at 254 dots per inch of 25.4 mm
    at = lambda x, y: tuple(pixels[int((10 - y) / 20 * h), int((x + 10) / 20 * w)])  # noqa: E731
    assert at(5, 5) == (62, 138, 58, 255)
    assert at(-5, 5) == (206, 40, 38, 255)
    assert at(-7.5, -7.5)[3] == 0


def test_the_same_map_gives_the_same_bytes():
    assert write_regions_svg(l_shape_map()) == write_regions_svg(l_shape_map())
