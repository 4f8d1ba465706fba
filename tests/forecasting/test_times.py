"""Timed runs, whole orders and what they take from the shelf."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import BLACK, LEAF, WHITE, filled_square, plan_of, setup_on

from firstpiece.errors import InputError
from firstpiece.forecasting.order_time import order_time
from firstpiece.forecasting.sewing_time import forecast_minutes
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.forecasting.supply_use import supply_use
from firstpiece.forecasting.timed_runs import TimedRun, fit_machine
from firstpiece.model.measured import Band, Certainty, Figure
from firstpiece.model.stitch import Role

SETUP = setup_on()
CARD = SETUP.machine


def straight(n, length, pieces=1, threads=1):
    """n stitches of one length, cut into pieces by trims or into threads by changes."""
    runs = []
    for k in range(max(pieces, threads)):
        x = np.arange(n // max(pieces, threads)) * length
        points = np.column_stack([x, np.full(len(x), 0.0)])
        runs.append((points, k % threads, 0, Role.COVER))
    colors = (WHITE, BLACK, LEAF)[: max(1, min(threads, 3))]
    return plan_of(*runs, threads=colors)


RUNS = (
    straight(3000, 10.0),
    straight(800, 2.0, pieces=30),
    straight(800, 2.0, pieces=9, threads=3),
)


def truth(k, trim, change):
    return replace(
        CARD,
        speed_constant=replace(CARD.speed_constant, value=k, low=k, high=k),
        trim=replace(CARD.trim, value=trim, low=trim, high=trim),
        color_change=replace(CARD.color_change, value=change, low=change, high=change),
    )


def seconds(plan, machine):
    return forecast_minutes(plan, machine).band.p50 * 60


@pytest.mark.parametrize(("k", "trim", "change"), [(1700.0, 5.0, 12.0), (2300.0, 8.5, 7.0)])
def test_three_runs_give_the_constants_back(k, trim, change):
    machine = truth(k, trim, change)
    rng = np.random.default_rng(7)
    timed = [TimedRun(p, seconds(p, machine) + rng.uniform(-1.5, 1.5)) for p in RUNS]
    fitted = fit_machine(CARD, timed, measured_on="2026-03-01")
    assert fitted.speed_constant.value == pytest.approx(k, rel=0.01)
    assert fitted.trim.value == pytest.approx(trim, abs=0.15)
    assert fitted.color_change.value == pytest.approx(change, abs=0.4)
    assert fitted.speed_constant.low <= k <= fitted.speed_constant.high
    # The job held back is foretold.
    held_back = straight(5000, 5.0, pieces=12, threads=3)
    foretold = seconds(held_back, fitted)
    assert foretold == pytest.approx(seconds(held_back, machine), rel=0.01)
    for number in (fitted.speed_constant, fitted.trim, fitted.color_change):
        assert number.certainty is Certainty.CALIBRATED


def test_runs_that_cannot_tell_are_refused():
    short = [TimedRun(p, 100.0) for p in (straight(800, 2.0), *RUNS[1:])]
    with pytest.raises(InputError, match="long enough"):
        fit_machine(CARD, short, measured_on="2026-03-01")
    no_changes = [TimedRun(p, 300.0) for p in (RUNS[0], RUNS[1], RUNS[1])]
    with pytest.raises(InputError, match="apart"):
        fit_machine(CARD, no_changes, measured_on="2026-03-01")


@settings(max_examples=25, deadline=None)
@given(st.integers(10, 400), st.integers(1, 200), st.floats(0.5, 11.0))
def test_more_stitches_never_take_less_time(n, more, length):
    few, many = straight(n, length), straight(n + more, length)
    a, b = (forecast_minutes(p, CARD).band for p in (few, many))
    assert b.p05 >= a.p05
    assert b.p50 > a.p50
    assert b.p95 >= a.p95


PIECE = Figure(Band(8.0, 10.0, 13.0), "min", Certainty.DEFAULT, "told")


def test_one_piece_is_hooped_sewn_and_finished():
    time = order_time(PIECE, quantity=1, machine=CARD, hooping_min=2.0, finishing_min=3.0)
    assert time.total.band == Band(13.0, 15.0, 18.0)
    assert time.rounds == 1


def test_handling_runs_beside_the_machine():
    time = order_time(PIECE, quantity=10, machine=CARD, hooping_min=2.0, finishing_min=3.0)
    assert time.total.band.p50 == pytest.approx(2 + 10 * 10 + 3)
    slow = order_time(PIECE, quantity=10, machine=CARD, hooping_min=9.0, finishing_min=6.0)
    # First hooping; then a load waits for 15 minutes of handling, the first and last for less.
    assert slow.total.band.p50 == pytest.approx(9 + 10 + 8 * 15 + 10 + 6)
    assert slow.waits_for_hands


def test_more_heads_need_fewer_rounds():
    four = replace(CARD, heads=4)
    time = order_time(PIECE, quantity=10, machine=four, hooping_min=1.0, finishing_min=1.0)
    assert time.rounds == 3
    assert time.machine.band.p50 == pytest.approx(30.0)
    with pytest.raises(ValueError, match="at least one"):
        order_time(PIECE, quantity=0, machine=CARD, hooping_min=1.0, finishing_min=1.0)


def test_grams_are_metres_times_tex():
    plan, areas = filled_square(20.0)
    forecast = forecast_sewout(plan, region_map=areas, setup=SETUP)
    use = supply_use(forecast, plan, SETUP, quantity=12)
    thread = use.threads[0]
    assert thread.metres.band.p50 == pytest.approx(12 * forecast.thread_use[0].top_m.band.p50)
    assert thread.grams.band.p50 == pytest.approx(thread.metres.band.p50 * 26.7e-3)
    assert thread.cones.band.p50 == pytest.approx(thread.metres.band.p50 / 5000)
    # One sheet for the 120 mm hoop: 160 mm square at 60 g/m².
    assert use.backing_g == pytest.approx(12 * 0.16**2 * 60)
