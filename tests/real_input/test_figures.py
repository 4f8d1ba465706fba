"""The benchmark's own figures against shapes whose answer is known by hand.

The figures judge the planner, so they are checked on stitch lists written here, not planned.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from benchmarks.art_raster import rasterise_art
from benchmarks.figures import measure
from benchmarks.stitch_raster import Grid, draw_threads, read_stitch_list

THREADS = (
    '[{"name": "a", "hex": "#0000ff", "tex": 26.7}, {"name": "b", "hex": "#ff0000", "tex": 26.7}]'
)
SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40" width="40" height="40">'
    '<rect x="10" y="10" width="20" height="20" fill="#0000ff"/></svg>'
)


def stitch_list(*rows: str):
    return read_stitch_list("x_mm,y_mm,action,thread\n" + "\n".join(rows) + "\n", THREADS)


def serpentine(pitch: float, half: float = 5.0, thread: int = 0, skip: range = range(0)):
    """Return rows of straight passes over a square about the origin."""
    rows = []
    for i, y in enumerate(np.arange(-half + pitch / 2, half, pitch)):
        if i in skip:
            continue
        ends = (-half, half) if i % 2 else (half, -half)
        rows += [f"{x:.2f},{y:.2f},stitch,{thread}" for x in np.linspace(*ends, 5)]
    return [*rows, f"0.00,0.00,end,{thread}"]


def test_one_stitch_covers_the_area_of_a_bar_with_round_ends():
    """Area = length × width + π/4 width²; within 1 % on a 0.05 mm grid."""
    grid = Grid.around(6.0, 6.0)
    for ends in ("-3.00,0.00 3.00,0.00", "-2.00,-3.00 2.50,1.00", "0.00,-4.00 0.00,4.00"):
        a, b = ends.split()
        layers, _ = draw_threads(stitch_list(f"{a},stitch,0", f"{b},stitch,0"), grid)
        (x0, y0), (x1, y1) = (map(float, end.split(",")) for end in (a, b))
        area = math.hypot(x1 - x0, y1 - y0) * 0.4 + math.pi / 4 * 0.4**2
        assert (layers > 0).sum() * 0.05**2 == pytest.approx(area, rel=0.01)
        assert layers.max() == 1


def test_raster_agrees_with_the_slow_distance_to_each_stitch():
    """Every pixel centre against the plain point-to-segment distance."""
    rng = np.random.default_rng(5)
    points = rng.uniform(-2, 2, (9, 2)).round(2)
    listed = stitch_list(*(f"{x:.2f},{y:.2f},stitch,0" for x, y in points))
    grid = Grid.around(2.0, 2.0, margin_mm=1.0)
    layers, _ = draw_threads(listed, grid)
    x = grid.left_mm + (np.arange(grid.n_cols) + 0.5) * 0.05
    y = grid.top_mm - (np.arange(grid.n_rows) + 0.5) * 0.05
    at = np.stack(np.meshgrid(x, y), axis=-1)
    slow = np.zeros(grid.shape, int)
    for a, b in itertools.pairwise(points):
        t = np.clip(((at - a) @ (b - a)) / ((b - a) @ (b - a)), 0, 1)
        slow += np.hypot(*(at - (a + t[..., None] * (b - a))).transpose(2, 0, 1)) <= 0.2
    assert np.abs(layers.astype(int) - slow).max() <= 1
    assert (layers != slow).mean() < 1e-4


def test_thread_width_follows_the_square_root_of_tex():
    thin = THREADS.replace("26.7", str(26.7 / 4))
    rows = "x_mm,y_mm,action,thread\n-5.00,0.00,stitch,0\n5.00,0.00,stitch,0\n"
    layers, _ = draw_threads(read_stitch_list(rows, thin), Grid.around(6.0, 2.0))
    across = (layers[:, layers.shape[1] // 2] > 0).sum() * 0.05
    assert across == pytest.approx(0.2, abs=0.05)


def test_close_rows_leave_nothing_bare():
    figures = measure(stitch_list(*serpentine(0.38)), SQUARE, height_mm=10.0).figures
    assert figures.bare_share < 0.001
    assert figures.spots == 0
    assert figures.outside_share == 0.0
    assert figures.right_color == pytest.approx(1.0, abs=0.001)
    assert figures.short_steps == figures.long_steps == figures.trims == 0


def test_rows_half_a_millimetre_apart_leave_a_fifth_bare():
    """0.40 mm of thread every 0.50 mm leaves 20 % of the inside bare, in stripes 0.1 mm wide."""
    figures = measure(stitch_list(*serpentine(0.5)), SQUARE, height_mm=10.0).figures
    assert figures.bare_share == pytest.approx(0.20, abs=0.015)
    assert figures.spots == 0


def test_missing_rows_are_one_spot_in_the_right_place():
    """Rows 12 and 13 of 25 are left out: bare from y = −0.4 to 0.4 of 10 mm, 0.8 mm across."""
    rows = serpentine(0.4, skip=range(12, 14))
    figures = measure(stitch_list(*rows), SQUARE, height_mm=10.0).figures
    assert figures.spots == 1
    assert abs(figures.places["spots"][1]) < 0.5
    # The middle stripe is 0.8 mm less the round overlap; of the inner 9.6 mm that is some 8 %.
    assert 0.04 < figures.bare_share < 0.09


def test_thread_beyond_half_a_millimetre_is_outside():
    """Passes over 12 mm instead of 10: a band of 0.7 mm (1 + 0.2 − 0.5) each side is outside.

    (12.4² − 11²)/12.4² = 0.213 of the sewn area, less the rounded corners of the 0.5 mm band.
    """
    figures = measure(stitch_list(*serpentine(0.38, half=6.0)), SQUARE, height_mm=10.0).figures
    assert figures.outside_share == pytest.approx(0.213, abs=0.02)


def test_wrong_thread_on_a_quarter_is_a_quarter_wrong():
    """The second colour covers the lower half of a square of two colours, top right stays right."""
    two = SQUARE.replace(
        "</svg>", '<rect x="20" y="10" width="10" height="20" fill="#ff0000"/></svg>'
    )
    left_only = [
        *serpentine(0.38)[:-1],
        *[
            f"{x:.2f},{y:.2f},stitch,1"
            for i, y in enumerate(np.arange(0.2, 5, 0.38))
            for x in ((0.2, 4.8) if i % 2 else (4.8, 0.2))
        ],
        "0.00,0.00,end,1",
    ]
    figures = measure(stitch_list(*left_only), two, height_mm=10.0).figures
    assert figures.right_color == pytest.approx(0.75, abs=0.02)


def test_steps_trims_and_ties_are_counted():
    rows = [f"{i * 1.0:.2f},0.00,stitch,0" for i in range(20)]
    rows[10] = "9.10,0.00,stitch,0"
    rows += ["19.00,0.00,trim,0", "0.00,0.50,jump,0"]
    rows += [f"{i * 1.0:.2f},0.50,stitch,0" for i in range(20)]
    rows += ["19.00,13.00,stitch,0", "0.00,0.00,end,0"]
    figures = measure(stitch_list(*rows), SQUARE, height_mm=10.0).figures
    assert figures.short_steps == 1
    assert figures.long_steps == 1
    assert figures.trims == 1
    # Start of the first run and start of the second lie 0.5 mm apart; the ends lie far off.
    assert figures.ties_within_1mm == 2


def test_holes_in_a_square_millimetre_are_counted():
    """A lattice 0.25 mm apart has 16 penetrations in each whole square millimetre."""
    rows = [
        f"{x:.2f},{y:.2f},stitch,0"
        for y in np.arange(0, 3, 0.25) + 0.01
        for x in np.arange(0, 3, 0.25) + 0.01
    ]
    figures = measure(stitch_list(*rows, "0,0,end,0"), SQUARE, height_mm=10.0).figures
    assert figures.holes_mm2_max == 16


def test_paper_that_reaches_the_edge_is_no_art_and_enclosed_ground_is_set_apart():
    """A ring of 20 outside, 10 inside on an empty sheet: art is 20² − 10² of 40 units."""
    ring = SQUARE.replace(
        '<rect x="10" y="10" width="20" height="20" fill="#0000ff"/>',
        '<path d="M10 10h20v20h-20z M15 15v10h10v-10z" fill="#0000ff"/>',
    )
    art = rasterise_art(ring, height_mm=10.0, half_size_mm=(5.0, 5.0))
    assert art.is_art.sum() * 0.05**2 == pytest.approx(75.0, rel=0.01)
    assert art.is_enclosed.sum() * 0.05**2 == pytest.approx(25.0, rel=0.01)
    assert art.width_mm == pytest.approx(10.0, rel=0.01)


def test_a_drawing_of_broken_size_is_not_cut():
    """The renderer alone would round 10.4 units to 10 and cut the ring's lower edge off."""
    ring = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20.4 10.4">'
        '<path fill-rule="evenodd" fill="#0000ff" '
        'd="M0 0H20.4V10.4H0z M0.2 0.2V10.2H20.2V0.2z"/></svg>'
    )
    art = rasterise_art(ring, height_mm=104.0, half_size_mm=(1.0, 1.0))
    assert art.width_mm == pytest.approx(204.0, rel=0.005)
    column = art.is_art[:, art.grid.n_cols // 2]
    assert column.sum() * 0.05 == pytest.approx(4.0, rel=0.1)
