"""The whole forecast on plans small enough to reckon by hand."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.forecasting.sewing import (
    BLACK,
    LEAF,
    WHITE,
    filled_square,
    map_of,
    plan_of,
    rows_points,
    setup_on,
    square,
    treated,
)

from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.frozen import content_hash
from firstpiece.model.measured import Certainty
from firstpiece.model.region import BARE
from firstpiece.model.stitch import Role

SETUP = setup_on()
LAID = SETUP.thread.laid_width_mm


@pytest.mark.parametrize("spacing", [0.36, 0.38, 0.45, 0.5, 0.6, 0.8])
def test_cover_of_even_rows(spacing):
    side = 100 * spacing / 4
    plan, areas = filled_square(side, spacing)
    area = forecast_sewout(plan, region_map=areas, setup=SETUP).regions[0]
    assert area.cover == pytest.approx(min(1.0, LAID / spacing), abs=0.012)
    assert area.bare_mm2 == pytest.approx((1 - area.cover) * side**2, rel=0.02, abs=0.05)


def test_wide_rows_leave_gaps_as_wide_as_they_are_apart():
    plan, areas = filled_square(20.0, 1.0)
    area = forecast_sewout(plan, region_map=areas, setup=SETUP).regions[0]
    assert area.widest_gap_mm == pytest.approx(1.0 - LAID, abs=0.06)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.3, 0.9), st.floats(0.03, 0.3))
def test_cover_falls_with_spacing(spacing, more):
    covers = []
    for distance in (spacing, spacing + more):
        plan, areas = filled_square(12.0, distance)
        covers.append(forecast_sewout(plan, region_map=areas, setup=SETUP).regions[0].cover)
    # As many rows may fit as before, and each edge is seen to a third of a pixel.
    assert covers[1] <= covers[0] + 0.015


@settings(max_examples=8, deadline=None)
@given(st.floats(-80, 80), st.floats(-80, 80))
def test_forecast_moves_with_the_design(dx, dy):
    here = filled_square(12.0, 0.47)
    rows = rows_points(12.0, 0.47, x=dx, y=dy)
    there = (
        plan_of((rows, 0, 0, Role.COVER), treatments=(treated(spacing=0.47),)),
        map_of((square(12.0, dx, dy), 0)),
    )
    first, second = (forecast_sewout(p, region_map=m, setup=SETUP) for p, m in (here, there))
    assert second.regions[0].cover == pytest.approx(first.regions[0].cover, abs=2e-3)
    assert second.regions[0].penetrations_mm2 == first.regions[0].penetrations_mm2
    assert second.sewing_minutes.band.p50 == pytest.approx(first.sewing_minutes.band.p50)
    assert second.bobbin_m.band.p50 == pytest.approx(first.bobbin_m.band.p50)
    assert [f.code for f in second.findings] == [f.code for f in first.findings]


def test_layers_add_up_to_the_thread():
    # Sparse rows: pieces lie over each other only in the inner corner of each turn.
    points = rows_points(20.0, 1.3, step=5.0)
    plan = plan_of((points, 0, 0, Role.COVER))
    forecast = forecast_sewout(plan, region_map=map_of((square(20.0), 0)), setup=SETUP)
    steps = np.diff(points, axis=0)
    ribbons = shapely.LineString(points).buffer(LAID / 2)
    assert ribbons.area == pytest.approx(LAID * np.hypot(*steps.T).sum(), rel=0.02)
    thread_mm2 = float(forecast.layers.values.sum()) * forecast.layers.pixel_mm**2
    inner_corners = 2 * (20 / 1.3 - 1) * (LAID / 2) ** 2
    # Thirty level edges, each seen to a third of a pixel of 0.045 mm.
    assert thread_mm2 == pytest.approx(ribbons.area + inner_corners, rel=0.015)


def test_two_crossed_fills_count_two_layers():
    points = rows_points(16.0, 0.38)
    crossed = points[:, ::-1].copy()
    plan = plan_of((points, 0, 0, Role.UNDERLAY), (crossed, 0, 0, Role.COVER))
    forecast = forecast_sewout(plan, region_map=map_of((square(16.0), 0)), setup=SETUP)
    middle = forecast.layers.values[30:-30, 30:-30]
    assert middle.mean() == pytest.approx(2 * LAID / 0.38, rel=0.02)


def test_show_through_depends_on_the_garments_colour():
    plan, areas = filled_square(16.0, 0.45)
    seen = {
        garment: forecast_sewout(plan, region_map=areas, setup=setup_on(garment))
        .regions[0]
        .show_through.band.p50
        for garment in ("tee-white", "tee-heather", "tee-black")
    }
    assert seen["tee-white"] < seen["tee-heather"] < seen["tee-black"]


def test_closer_rows_show_less_cloth():
    setup = setup_on("tee-black")
    seen = []
    for spacing in (0.8, 0.6, 0.45, 0.3, 0.2):
        plan, areas = filled_square(16.0, spacing)
        area = forecast_sewout(plan, region_map=areas, setup=setup).regions[0]
        seen.append(area.show_through.band.p50)
    assert seen == sorted(seen, reverse=True)


def test_bands_hold_their_middle_and_are_marked_as_defaults():
    plan, areas = filled_square()
    forecast = forecast_sewout(plan, region_map=areas, setup=setup_on("tee-black"))
    figures = [
        forecast.regions[0].show_through,
        forecast.sewing_minutes,
        forecast.bobbin_m,
        forecast.thread_use[0].top_m,
    ]
    for figure in figures:
        assert figure.certainty is Certainty.DEFAULT
        assert figure.band.p05 < figure.band.p50 < figure.band.p95
        assert figure.basis


def test_bare_regions_are_not_forecast():
    plan, _ = filled_square(10.0)
    areas = map_of((square(10.0), 0), (square(4.0, 20.0), BARE))
    forecast = forecast_sewout(plan, region_map=areas, setup=SETUP)
    assert [r.region_id for r in forecast.regions] == [0]


def test_each_thread_is_counted():
    runs = [
        (rows_points(8.0, 0.38, x=x), k, k, Role.COVER) for k, x in enumerate((-10.0, 0.0, 10.0))
    ]
    threads = (WHITE, BLACK, LEAF)
    areas = map_of(
        *((square(8.0, x), k) for k, x in enumerate((-10.0, 0.0, 10.0))), threads=threads
    )
    forecast = forecast_sewout(plan_of(*runs, threads=threads), region_map=areas, setup=SETUP)
    assert [use.thread_index for use in forecast.thread_use] == [0, 1, 2]
    assert forecast.n_color_changes == 2
    assert forecast.n_stitches == sum(len(points) for points, *_ in runs)
    # One square each: the same thread length.
    lengths = [use.top_m.band.p50 for use in forecast.thread_use]
    assert lengths == pytest.approx([lengths[0]] * 3)


def test_a_plan_without_stitches_is_forecast_as_bare():
    forecast = forecast_sewout(plan_of(), region_map=map_of((square(10.0), 0)), setup=SETUP)
    assert forecast.n_stitches == 0
    assert forecast.sewing_minutes.band.p50 == 0.0
    assert forecast.regions[0].cover == 0.0
    assert forecast.regions[0].widest_gap_mm == pytest.approx(10.0, abs=0.1)
    assert "too-small" in {f.code for f in forecast.findings}


def test_same_input_same_bytes():
    plan, areas = filled_square()
    first, second = (forecast_sewout(plan, region_map=areas, setup=SETUP) for _ in range(2))
    assert content_hash(first) == content_hash(second)


def test_a_large_design_stays_within_its_pixels():
    from firstpiece.forecasting.cover_map import MOST_PIXELS, choose_grid

    for side in (5.0, 90.0, 150.0, 300.0, 500.0, 2000.0):
        grid, block = choose_grid((-side / 2, -side / 2, side / 2, side / 2))
        assert grid.n_rows * grid.n_cols <= MOST_PIXELS * 1.01
        assert grid.n_rows % block == 0
        assert grid.n_cols % block == 0
        if side <= 300:
            assert grid.pixel_mm <= 0.1
