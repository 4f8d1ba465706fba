"""The open stitch list: its columns are a promise to other programs."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.files.stitch_table import read_stitch_csv, write_stitch_csv, write_threads_json
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

THREADS = (
    ThreadColor("apple “red”", (206, 40, 38), 26.7),
    ThreadColor("moss, dark", (1, 2, 3), 18),
)


def make_plan(xy, action, thread):
    n = len(xy)
    return StitchPlan(
        xy_mm=np.asarray(xy, dtype=float).reshape(n, 2),
        action=action,
        thread=thread,
        region_id=np.zeros(n),
        role=np.zeros(n),
        threads=THREADS,
    )


def test_the_text_is_what_the_format_says():
    plan = make_plan(
        [(0, 0), (1.234, -0.001), (-12.5, 100.005), (3, 4), (3, 4)],
        [Action.STITCH, Action.STITCH, Action.COLOR_CHANGE, Action.JUMP, Action.END],
        [0, 0, 1, 1, 1],
    )
    assert write_stitch_csv(plan) == (
        "x_mm,y_mm,action,thread\n"
        "0.00,0.00,stitch,0\n"
        "1.23,0.00,stitch,0\n"
        "-12.50,100.00,color_change,1\n"
        "3.00,4.00,jump,1\n"
        "3.00,4.00,end,1\n"
    )
    assert json.loads(write_threads_json(plan)) == [
        {"name": "apple “red”", "hex": "#ce2826", "tex": 26.7},
        {"name": "moss, dark", "hex": "#010203", "tex": 18},
    ]


ROWS = st.lists(
    st.tuples(
        st.floats(-500, 500, allow_nan=False),
        st.floats(-500, 500, allow_nan=False),
        st.sampled_from(list(Action)),
        st.integers(0, 1),
    ),
    max_size=40,
)


@given(ROWS)
def test_reading_back_gives_every_row_to_a_hundredth(rows):
    plan = make_plan([r[:2] for r in rows], [r[2] for r in rows], [r[3] for r in rows])
    text = write_stitch_csv(plan)
    back = read_stitch_csv(text, write_threads_json(plan))
    assert np.array_equal(back.xy_mm, np.round(plan.xy_mm, 2))
    assert np.array_equal(back.action, plan.action)
    assert np.array_equal(back.thread, plan.thread)
    assert back.threads == plan.threads
    assert write_stitch_csv(back) == text


@given(ROWS)
def test_a_plain_csv_reader_agrees(rows):
    # Python's csv module (RFC 4180) is the outside reader here.
    plan = make_plan([r[:2] for r in rows], [r[2] for r in rows], [r[3] for r in rows])
    table = list(csv.DictReader(io.StringIO(write_stitch_csv(plan))))
    assert [row["action"] for row in table] == [r[2].word for r in rows]
    assert (
        np.allclose([float(row["x_mm"]) for row in table], plan.xy_mm[:, 0], atol=0.005 + 1e-9)
        or not rows
    )


def test_a_long_list_has_a_row_for_every_action():
    rng = np.random.default_rng(11)
    n = 50_000
    plan = make_plan(rng.normal(0, 60, (n, 2)), rng.integers(0, 5, n), rng.integers(0, 2, n))
    text = write_stitch_csv(plan)
    assert text.count("\n") == n + 1


GOOD = "x_mm,y_mm,action,thread\n0.00,0.00,stitch,0\n1.00,0.00,end,0\n"
GOOD_THREADS = '[{"name": "a", "hex": "#000000", "tex": 26.7}]'


@pytest.mark.parametrize(
    ("text", "threads", "words"),
    [
        ("x,y\n", GOOD_THREADS, "stitches.csv, line 1: the first line must be"),
        (GOOD.replace("stitch", "hop"), GOOD_THREADS, "line 2: “hop” is not an action"),
        (
            GOOD.replace("1.00", "wide"),
            GOOD_THREADS,
            "line 3: a position or thread is not a number",
        ),
        (GOOD.replace("1.00", "nan"), GOOD_THREADS, "line 3: a position is not finite"),
        (GOOD.replace("end,0", "end,4"), GOOD_THREADS, "line 3: thread 4 is not in threads.json"),
        (GOOD.replace("0.00,0.00,", "0.00,"), GOOD_THREADS, "line 2: a row has four columns"),
        (GOOD, "[{}]", "threads.json: the list of threads is not as described"),
        (GOOD, "not json", "threads.json: the list of threads is not as described"),
        (GOOD, GOOD_THREADS.replace("#000000", "#00"), "threads.json: the list of threads"),
    ],
)
def test_a_list_that_does_not_follow_the_format_is_told_by_line(text, threads, words):
    with pytest.raises(InputError) as caught:
        read_stitch_csv(text, threads)
    assert words in str(caught.value)
