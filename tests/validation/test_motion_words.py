"""Motion programs, held to the address letters of the standard and to a general-purpose reader.

Source: ISO 6983-1:2009, address characters (X, Y primary positions; G preparatory; M miscellaneous;
N block number; T tool), as reprinted in a controller manual; the words G00, G01, G20, G21, G90,
G91, M00, M06 and M30 from memory. Reader: the library gcodeparser.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from gcodeparser import parse_gcode_lines

from firstpiece.files.motion_program import MotionWords, write_motion_program
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import StitchPlan

PLAN = StitchPlan(
    xy_mm=np.array([[0, 0], [3.21, -4], [3.21, -4], [3.21, -4], [10, 5.5], [10, 5.5]], dtype=float),
    action=np.array([1, 0, 2, 3, 0, 5], dtype=np.uint8),
    thread=np.array([0, 0, 0, 1, 1, 1], dtype=np.int16),
    region_id=np.zeros(6, dtype=np.int32),
    role=np.zeros(6, dtype=np.uint8),
    threads=(ThreadColor("chalk", (250, 250, 250), 26.7), ThreadColor("ink", (0, 0, 0), 26.7)),
)


MANNERS = [
    MotionWords(),
    MotionWords(is_inch=True),
    MotionWords(is_incremental=True),
    MotionWords(is_incremental=True, is_inch=True, has_numbers=False, needle_word=73, trim_word=8),
]


@pytest.mark.parametrize("words", MANNERS, ids=str)
def test_the_library_reads_the_same_places(words):
    lines = list(parse_gcode_lines(write_motion_program(PLAN, words).replace("%", "")))
    scale = 25.4 if words.is_inch else 1.0
    steps = [(v.params["X"] * scale, v.params["Y"] * scale) for v in lines if "X" in v.params]
    places = np.cumsum(steps, axis=0) if words.is_incremental else np.array(steps)
    assert np.abs(places - PLAN.xy_mm).max() <= words.unit_mm / 2 + 1e-6
    commands = [v.command_str for v in lines]
    assert commands.count("M6") == 2
    assert commands[-1] == "M30"


ASSIGNED = set("ABCDFGIJKMNSTUVWXYZ")
"""Letters that the table gives a meaning; E H L O P Q R are left free in it."""


@pytest.mark.parametrize("words", MANNERS, ids=str)
def test_only_addresses_of_the_standard_are_used(words):
    text = re.sub(r"\(.*?\)", "", write_motion_program(PLAN, words))
    used = set(re.findall("[A-Z]", text))
    assert used <= ASSIGNED
    assert used == set("GMNTXY") - (set() if words.has_numbers else {"N"})
    assert text.startswith("%")
