"""Heights of thread: their sum over the area is the thread's volume."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import (
    plan_of,
    rows_points,
    setup_on,
    treated,
    zigzag_points,
)

from firstpiece.forecasting.height_map import height_maps
from firstpiece.forecasting.laid_thread import lay_thread, thread_section
from firstpiece.forecasting.lumps import FILLED
from firstpiece.model.stitch import Role, StitchType

SETUP = setup_on()
TOP_MM2 = thread_section(SETUP.thread, 26.7, 1.0).area_mm2


def volume(heights):
    return float(heights.values.sum(dtype=np.float64)) * heights.pixel_mm**2 * FILLED[1]


@settings(max_examples=20, deadline=None)
@given(st.floats(3.0, 60.0), st.floats(0.3, 1.5), st.floats(-50, 50), st.floats(-50, 50))
def test_height_times_area_is_the_threads_volume(side, spacing, x, y):
    points = rows_points(side, spacing, x=x, y=y)
    plan = plan_of((points, 0, 0, Role.COVER), treatments=(treated(),))
    front, back = height_maps(plan, lay_thread(plan), SETUP)
    length = np.hypot(*np.diff(points, axis=0).T).sum()
    assert volume(front) == pytest.approx(length * TOP_MM2, rel=1e-4)
    assert volume(back) > 0


def test_satin_pulls_more_thread_to_the_back_than_flat_stitches():
    points = zigzag_points(4.0, 20.0, 0.4)
    satin, flat = (
        plan_of((points, 0, 0, Role.COVER), treatments=(treated(kind=kind),))
        for kind in (StitchType.SATIN, StitchType.RUNNING)
    )
    backs = [volume(height_maps(p, lay_thread(p), SETUP)[1]) for p in (satin, flat)]
    assert backs[0] > backs[1]


def test_height_of_an_even_fill():
    plan = plan_of((rows_points(20.0, 0.4), 0, 0, Role.COVER), treatments=(treated(),))
    front, _ = height_maps(plan, lay_thread(plan), SETUP)
    middle = front.values[10:-10, 10:-10]
    assert middle.mean() == pytest.approx(TOP_MM2 / 0.4 / FILLED[1], rel=0.02)


def test_nothing_sewn_has_no_height():
    plan = plan_of()
    front, back = height_maps(plan, lay_thread(plan), SETUP)
    assert not front.values.any()
    assert not back.values.any()
