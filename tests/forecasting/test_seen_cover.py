"""Cover as it is seen, the choice of a spacing, and which colours read."""

from dataclasses import replace

import numpy as np
import pytest
from tests.forecasting.sewing import BLACK, LEAF, WHITE, filled_square, map_of, setup_on, square

from firstpiece.forecasting.colourways import neighbour_contrasts, read_threads
from firstpiece.forecasting.show_through import show_through
from firstpiece.forecasting.spacing_choice import even_rows, solve_spacing
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.material import Needle
from firstpiece.model.region import BARE
from firstpiece.model.stitch import StitchType

TEE = setup_on("tee-black")
CLOTH = TEE.garment.rgb
SHARP_75 = Needle(75, "sharp")


def forecast_rows(spacing, garment="tee-black"):
    plan, areas = filled_square(16.0, spacing)
    return forecast_sewout(plan, region_map=areas, setup=setup_on(garment))


def test_closed_rows_look_even_and_open_rows_show_specks():
    closed, open_rows = (forecast_rows(s).regions[0].views[0] for s in (0.33, 0.8))
    assert closed.p95 < open_rows.p95
    assert open_rows.p95 > 1.5 * closed.p95


def test_thread_coloured_cloth_shows_nothing():
    plan, areas = filled_square(16.0, 0.6, thread=BLACK)
    setup = replace(TEE, garment=replace(TEE.garment, rgb=BLACK.rgb))
    views = forecast_sewout(plan, region_map=areas, setup=setup).regions[0].views
    assert max(view.p95 for view in views) == pytest.approx(0.0, abs=1e-3)


def test_map_of_the_shift_lies_over_the_area():
    forecast = forecast_rows(0.7)
    shift = forecast.color_shift
    rows, cols = shift.values.shape
    x = shift.left_mm + (np.arange(cols) + 0.5) * shift.pixel_mm
    y = shift.top_mm - (np.arange(rows) + 0.5) * shift.pixel_mm
    inside = (np.abs(x)[None] < 7) & (np.abs(y)[:, None] < 7)
    outside = (np.abs(x)[None] > 8.8) | (np.abs(y)[:, None] > 8.8)
    assert shift.values[inside].mean() > 3 * shift.values[outside].mean()
    assert forecast.regions[0].views[0].mean == pytest.approx(shift.values[inside].mean(), rel=0.1)


@pytest.mark.parametrize("kind", [StitchType.FILL, StitchType.SATIN])
@pytest.mark.parametrize("tolerance", [5.0, 8.0, 12.0])
def test_solved_spacing_passes_and_the_next_wider_does_not(kind, tolerance):
    choice = solve_spacing(
        TEE.thread, WHITE.rgb, CLOTH, needle=SHARP_75, tolerance=tolerance, stitch_type=kind
    )
    assert choice.difference <= tolerance
    passes = 2 if kind is StitchType.SATIN else 1
    from firstpiece.forecasting.laid_thread import thread_section

    section = thread_section(TEE.thread, TEE.thread.tex.value, TEE.thread.flattening.value)
    for wider in np.arange(choice.spacing_mm + 0.01, 1.5, 0.01):
        texture = even_rows(wider / passes, section)
        seen = show_through(WHITE.rgb, CLOTH, texture, TEE.thread.scatter.value)
        assert seen > tolerance


def test_looser_tolerances_allow_wider_rows():
    choices = [
        solve_spacing(TEE.thread, WHITE.rgb, CLOTH, needle=SHARP_75, tolerance=t).spacing_mm
        for t in (4.5, 6.0, 9.0, 14.0)
    ]
    assert choices == sorted(choices)
    assert choices[0] < choices[-1]


def test_thin_thread_needs_closer_rows_and_a_finer_needle_will_do():
    thin = setup_on("tee-black", "poly-60").thread
    usual, fine = (
        solve_spacing(t, WHITE.rgb, CLOTH, needle=Needle(65, "ball"), tolerance=12.0)
        for t in (TEE.thread, thin)
    )
    assert fine.spacing_mm < usual.spacing_mm
    assert fine.needle_fits


def test_needle_too_fine_for_the_thread_is_told():
    assert not solve_spacing(
        TEE.thread, WHITE.rgb, CLOTH, needle=Needle(50, "ball"), tolerance=9.0
    ).needle_fits


def test_no_spacing_passes_an_impossible_tolerance():
    choice = solve_spacing(TEE.thread, WHITE.rgb, CLOTH, needle=SHARP_75, tolerance=0.05)
    assert choice.spacing_mm is None
    assert choice.difference > 0.05
    with pytest.raises(ValueError, match="above 0"):
        solve_spacing(TEE.thread, WHITE.rgb, CLOTH, needle=SHARP_75, tolerance=0.0)


def test_thick_needle_keeps_satin_columns_apart():
    fine, thick = (
        solve_spacing(
            TEE.thread, WHITE.rgb, CLOTH, needle=Needle(size, "sharp"), tolerance=0.05,
            stitch_type=StitchType.SATIN,
        ).closest_mm
        for size in (75, 180)
    )  # fmt: skip
    assert thick > fine


def test_letters_on_black_read_in_white_not_in_dark_green():
    readings = read_threads((LEAF, BLACK, WHITE), CLOTH)
    assert readings[0].thread == WHITE
    assert readings[0].reads_small
    assert readings[-1].thread == BLACK
    assert not readings[-1].reads_large


def test_neighbours_are_pairs_with_a_common_edge():
    areas = map_of(
        (square(10.0), 0), (square(10.0, 10.0), 1), (square(10.0, 10.0, 10.0), BARE),
        (square(10.0, 40.0), 1), threads=(WHITE, LEAF),
    )  # fmt: skip
    pairs = neighbour_contrasts(areas, (247, 246, 241))
    assert {(p.first_id, p.second_id) for p in pairs} == {(0, 1), (1, 2)}
    assert all(p.shared_mm == pytest.approx(10.0) for p in pairs)
    # Bare cloth of the white thread's colour: both edges are leaf green on white.
    assert pairs[0].contrast == pytest.approx(pairs[1].contrast)
