"""The sample of sixty drawings that nobody here made: complete, unchanged, flat, of many sizes.

Flat clip art (public domain dedication) and icons (MIT), see ``tests/art/MANIFEST.json``; the
heights rotate through 60 to 250 mm.
"""

from __future__ import annotations

import hashlib
import json
import re

from benchmarks.roughen import roughen
from benchmarks.sample import ART
from tests.real_input.coming_through import SAMPLE

NOT_FLAT = {"linearGradient", "radialGradient", "filter", "image", "text", "metadata"}


def test_sample_is_complete_and_unchanged():
    manifest = json.loads((ART / "MANIFEST.json").read_text("utf-8"))
    files = [entry["file"] for entry in manifest["files"]]
    assert sum(f.startswith("clipart/") for f in files) == 40
    assert sum(f.startswith("icons/") for f in files) == 20
    for entry in manifest["files"]:
        data = (ART / entry["file"]).read_bytes()
        assert hashlib.sha256(data).hexdigest() == entry["sha256"], entry["file"]
        assert len(data) <= 60_000
    assert {str(p.relative_to(ART)) for p in ART.rglob("*.svg")} == set(files)


def test_sample_is_flat_and_names_nobody():
    for design in SAMPLE:
        tags = set(re.findall(r"<(?:svg:)?(\w+)", design.svg))
        assert not tags & {
            "linearGradient",
            "radialGradient",
            "filter",
            "image",
            "text",
            "metadata",
        }
        assert "creator" not in design.svg


def test_heights_span_what_a_shop_sews():
    heights = [d.height_mm for d in SAMPLE]
    assert min(heights) == 60
    assert max(heights) == 250
    assert len(set(heights)) >= 8


def test_roughened_pictures_are_the_same_each_time_and_differ_by_seed():
    svg = SAMPLE[8].svg
    assert roughen(svg, seed=3) == roughen(svg, seed=3)
    assert roughen(svg, seed=3) != roughen(svg, seed=4)
