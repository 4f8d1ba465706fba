"""Metres of thread by hand, and what they must never do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import plan_of, setup_on, treated, zigzag_points

from firstpiece.forecasting.thread_use import forecast_thread
from firstpiece.model.stitch import Role, StitchType

SETUP = setup_on()
# Twill 0.5 mm on 60 g/m² of backing at 0.25 g/cm³.
THICK = 0.5 + 0.24


def line(n, step=3.0):
    return np.column_stack([np.arange(n) * step, np.zeros(n)])


def middle(plan):
    use, bobbin = forecast_thread(plan, SETUP)
    return [u.top_m.band.p50 for u in use], bobbin.band.p50


def test_one_line_by_hand():
    top, bobbin = middle(plan_of((line(101), 0, 0, Role.COVER)))
    assert top[0] == pytest.approx((1.2 * 300 + 101 * THICK + 2 * 40) * 1.12e-3)
    assert bobbin == pytest.approx((0.8 * 300 + 101 * THICK + 2 * 30) * 1.12e-3)


def test_satin_shows_a_third_of_the_top_thread_on_the_back():
    zigzag = zigzag_points(4.0, 10.0, 0.4)
    satin = treated(kind=StitchType.SATIN, spacing=0.4)
    top, bobbin = middle(plan_of((zigzag, 0, 0, Role.COVER), treatments=(satin,)))
    length = np.hypot(4.0, 0.2) * (len(zigzag) - 1)
    assert top[0] == pytest.approx((5 / 3 * length + len(zigzag) * THICK + 80) * 1.12e-3)
    assert bobbin == pytest.approx((1 / 3 * length + len(zigzag) * THICK + 60) * 1.12e-3)


def test_each_cut_costs_two_tails():
    joined = line(41)
    whole, _ = middle(plan_of((joined, 0, 0, Role.COVER)))
    cut, _ = middle(plan_of((joined[:21], 0, 0, Role.COVER), (joined[20:], 0, 0, Role.COVER)))
    # One more penetration and one more thread with two ends.
    assert cut[0] - whole[0] == pytest.approx((THICK + 2 * 40) * 1.12e-3)


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 200), st.integers(1, 50), st.floats(0.3, 12))
def test_more_stitches_use_more_thread(n, more, step):
    short, short_bobbin = middle(plan_of((line(n, step), 0, 0, Role.COVER)))
    long, long_bobbin = middle(plan_of((line(n + more, step), 0, 0, Role.COVER)))
    assert long[0] > short[0]
    assert long_bobbin > short_bobbin


def test_no_stitches_no_thread():
    assert middle(plan_of()) == ([0.0], 0.0)
