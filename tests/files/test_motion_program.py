"""Motion programs: read by an independent reader, by our own, and refused by line."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.files.motion_program import (
    MotionWords,
    read_motion_program,
    write_motion_program,
)
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

THREADS = tuple(ThreadColor(f"shade {i}", (i, i, i), 26.7) for i in range(3))
MANNERS = [
    MotionWords(),
    MotionWords(is_incremental=True),
    MotionWords(is_inch=True, has_numbers=False),
    MotionWords(needle_word=73, trim_word=8, is_incremental=True, is_inch=True),
]


@st.composite
def plans(draw):
    rows, thread = [], 0
    place = st.floats(-200, 200)
    for _ in range(draw(st.integers(0, 20))):
        action = draw(st.sampled_from([Action.STITCH, Action.JUMP, Action.TRIM, Action.STOP]))
        if rows and thread < 2 and draw(st.booleans()):
            thread += 1
            rows.append((*rows[-1][:2], Action.COLOR_CHANGE, thread))
        rows.append((draw(place), draw(place), action, thread))
    rows.append((*(rows[-1][:2] if rows else (0.0, 0.0)), Action.END, thread))
    return StitchPlan(
        xy_mm=np.array([r[:2] for r in rows]),
        action=np.array([r[2] for r in rows], dtype=np.uint8),
        thread=np.array([r[3] for r in rows], dtype=np.int16),
        region_id=np.full(len(rows), -1, dtype=np.int32),
        role=np.zeros(len(rows), dtype=np.uint8),
        threads=THREADS,
    )


def read_plainly(text: str) -> list[tuple[float, float]]:
    """A reader written from the standard alone: places of the blocks that hold X and Y, in mm."""
    x = y = 0.0
    inch = "G20" in text
    moves = "G91" in text
    places = []
    for line in text.splitlines():
        line = re.sub(r"\(.*?\)", "", line)
        words = dict(re.findall(r"([XY])(-?[\d.]+)", line))
        if not words:
            continue
        dx, dy = (float(words[k]) * (25.4 if inch else 1.0) for k in "XY")
        x, y = (x + dx, y + dy) if moves else (dx, dy)
        places.append((x, y))
    return places


@pytest.mark.parametrize("words", MANNERS, ids=str)
@settings(max_examples=40, deadline=None)
@given(plan=plans())
def test_positions_come_back_within_the_unit(words, plan):
    text = write_motion_program(plan, words, comments=("apron (90 mm)",))
    found = read_motion_program(text, words, threads=THREADS)
    assert found.action.tolist() == plan.action.tolist()
    assert found.thread.tolist() == plan.thread.tolist()
    assert np.abs(found.xy_mm - plan.xy_mm).max() <= words.unit_mm / 2 + 1e-6
    assert np.abs(np.array(read_plainly(text)) - plan.xy_mm).max() <= words.unit_mm / 2 + 1e-6
    assert text == write_motion_program(plan, words, comments=("apron (90 mm)",))


def test_blocks_are_numbered_and_read_by_eye():
    plan = StitchPlan(
        xy_mm=np.array([[0.0, 0.0], [2.5, -1.0], [2.5, -1.0]]),
        action=np.array([1, 0, 5], dtype=np.uint8),
        thread=np.zeros(3, dtype=np.int16),
        region_id=np.zeros(3, dtype=np.int32),
        role=np.zeros(3, dtype=np.uint8),
        threads=THREADS[:1],
    )
    assert write_motion_program(plan).splitlines() == [
        "%",
        "(T0 shade 0 #000000)",
        "N1 G21 G90",
        "N2 T0 M06",
        "N3 G00 X0.00 Y0.00",
        "N4 G01 X2.50 Y-1.00 M20",
        "N5 G00 X2.50 Y-1.00 M30",
        "%",
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "line 1: the program has no end"),
        ("G21\nG02 X1 Y1\nM30", "line 2: G02 is not used"),
        ("G21\nhello\nM30", "line 2: “HELLO” is not made of words"),
        ("M77", "line 1: M77 is not a word of this shop"),
        ("M30\nG00 X1", "line 2: something follows"),
        ("Z5\nM30", "address Z is not used"),
    ],
)
def test_faults_are_told_by_line(text, words):
    with pytest.raises(InputError, match=words):
        read_motion_program(text)


def test_words_that_clash_are_refused():
    with pytest.raises(InputError, match="must differ"):
        MotionWords(needle_word=6)


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="GMXYNT0123456789.- ()%\n/", max_size=200))
def test_any_text_is_read_or_refused_in_words(text):
    said = ""
    try:
        read_motion_program(text)
    except InputError as fault:
        said = str(fault)
    assert not said or "line" in said
