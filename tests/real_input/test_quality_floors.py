"""Floors of quality that no drawing of the sample may fall under, measured on the written files.

They are held against the original drawing by the benchmark's own rasteriser. They are floors and
not aims: the aims and how far they are reached are in the table of ``benchmarks.quality``.
"""

from __future__ import annotations

import pytest
from benchmarks.chain import run_chain
from benchmarks.figures import measure
from benchmarks.stitch_raster import read_stitch_list
from tests.real_input.coming_through import spread


@pytest.mark.parametrize("design", spread(9))
def test_what_is_written_keeps_the_floors_of_quality(design):
    data, name = design.picture("svg")
    sewn = run_chain(data, name=name, height_mm=design.height_mm)
    stitches = read_stitch_list(sewn.csv_text, sewn.threads_text)
    figures = measure(stitches, design.svg, height_mm=design.height_mm).figures
    assert figures.bare_share <= 0.03
    assert figures.outside_share <= 0.015
    assert figures.right_color_inside >= 0.97
    assert figures.short_steps == 0
    assert figures.long_steps == 0
