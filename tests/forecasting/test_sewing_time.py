"""Minutes: by hand from the speed law, and properties of any plan."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import moved, plan_of, setup_on

from firstpiece.forecasting.sewing_time import forecast_minutes, n_starts, running_seconds
from firstpiece.model.stitch import Role

MACHINE = setup_on().machine


@pytest.mark.parametrize(("length", "rate"), [(6, 816), (8, 707), (10, 632), (12, 577)])
def test_speed_law(length, rate):
    seconds = running_seconds(np.full(1000, float(length)), 1e9, 2000.0)
    assert 60 * 1000 / seconds == pytest.approx(rate, abs=1)


def test_short_stitches_run_at_top_speed():
    assert running_seconds(np.full(850, 2.0), 850.0, 2000.0) == pytest.approx(60.0)


def test_by_hand():
    line = np.column_stack([np.arange(101) * 2.0, np.zeros(101)])
    plan = plan_of((line, 0, 0, Role.COVER), (moved(line, 0.0, 2.0), 0, 0, Role.COVER))
    # 202 penetrations at top speed, a jump of 200 mm, one trim, two starts.
    seconds = 202 * 60 / 850 + 60 * np.sqrt(np.hypot(200, 2)) / 2000 + 6.0 + 2 * 1.5
    assert forecast_minutes(plan, MACHINE).band.p50 == pytest.approx(seconds / 60, rel=1e-9)


def test_a_trim_with_its_colour_change_is_one_start():
    line = np.array([[0.0, 0.0], [2.0, 0.0]])
    plan = plan_of((line, 0, 0, Role.COVER), (line, 0, 0, Role.COVER), (line, 0, 0, Role.COVER))
    assert n_starts(plan) == 3
    assert n_starts(plan_of()) == 0


points = st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=40).map(
    np.array
)


@settings(max_examples=60, deadline=None)
@given(points, st.data())
def test_more_stitches_never_take_less_time(path, data):
    whole = forecast_minutes(plan_of((path, 0, 0, Role.COVER)), MACHINE).band
    at = data.draw(st.integers(1, len(path) - 1))
    share = data.draw(st.floats(0, 1))
    split = np.insert(path, at, path[at - 1] + share * (path[at] - path[at - 1]), axis=0)
    more = forecast_minutes(plan_of((split, 0, 0, Role.COVER)), MACHINE).band
    for less_time, more_time in zip(
        (whole.p05, whole.p50, whole.p95), (more.p05, more.p50, more.p95), strict=True
    ):
        assert more_time >= less_time - 1e-12
