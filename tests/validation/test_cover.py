"""Cover of laid thread: Peirce 1937, J. Text. Inst. 28, T45 (fractional cover c = d/s of parallel
yarns, union c1 + c2 − c1·c2 of two crossed sets); a zigzag's cover derived from its gaps and
checked here by Monte Carlo; trade facts (common practice, no source) on spacing.
"""

import numpy as np
import pytest

from firstpiece.forecasting.show_through import SewnTexture, show_through
from firstpiece.kernels.coverage import Grid, count_layers
from firstpiece.units import thread_diameter_mm

# 25 tex polyester at packing 0.65 and density 1.38, not flattened.
PITCH_AND_COVER = [(0.40, 0.4710), (0.35, 0.5383), (0.45, 0.4187)]


def rows_of(pitch, half_side):
    heights = np.arange(-half_side, half_side, pitch)
    return np.column_stack(
        [np.full_like(heights, -half_side), heights, np.full_like(heights, half_side), heights]
    )


def cover_of(segments, width, pitch):
    """The share under thread in a window of 30 by 30 whole pitches."""
    side = 30 * pitch
    # One pixel more than a whole number per pitch: every row is sampled at another phase.
    n = 30 * round(pitch / 0.0113) + 1
    grid = Grid(-side / 2, side / 2, side / n, n, n)
    layers = count_layers(segments, np.full(len(segments), width / 2), grid)
    return float((layers > 0).mean())


@pytest.mark.parametrize(("pitch", "cover"), PITCH_AND_COVER)
def test_parallel_rows(pitch, cover):
    """One layer of parallel rows covers d over pitch (25 tex polyester, three pitches)."""
    width = thread_diameter_mm(25.0, 1.38, 0.65)
    assert width == pytest.approx(0.1884, abs=5e-5)
    assert cover_of(rows_of(pitch, 9.0), width, pitch) == pytest.approx(cover, abs=1e-3)


def test_two_crossed_layers():
    """Two crossed layers of rows at 0.40 mm cover 1 − (1 − c)² = 0.7202."""
    width = thread_diameter_mm(25.0, 1.38, 0.65)
    level = rows_of(0.40, 9.0)
    upright = level[:, [1, 0, 3, 2]]
    crossed = cover_of(np.vstack([level, upright]), width, 0.40)
    assert crossed == pytest.approx(0.7202, abs=1.5e-3)


@pytest.mark.parametrize("spacing", [0.3, 0.4, 0.55, 0.8])
def test_zigzag_against_closed_form_and_monte_carlo(spacing):
    """A zigzag of thread width w and same-side spacing s covers 1 − (1 − w/s)² of its column."""
    width, column, length = 0.2, 40.0, 16.0
    n = int(length / spacing * 2)
    side = np.where(np.arange(n) % 2 == 0, -column / 2, column / 2)
    points = np.column_stack([side, np.arange(n) * spacing / 2])
    segments = np.hstack([points[:-1], points[1:]])
    # In a wide column the slant is slight: the width along the column is the thread's width.
    closed_form = 1.0 - (1.0 - width / spacing) ** 2
    generator = np.random.default_rng(11)
    x = generator.uniform(-column / 2, column / 2, 40_000)
    y = generator.uniform(4.0, 12.0, 40_000)
    slope = spacing / 2 / column
    phase = (x + column / 2) * slope
    up = np.abs((y - phase + spacing / 2) % spacing - spacing / 2)
    down = np.abs((y - spacing / 2 - (spacing / 2 - phase) + spacing / 2) % spacing - spacing / 2)
    monte_carlo = float((np.minimum(up, down) <= width / 2).mean())
    assert monte_carlo == pytest.approx(closed_form, abs=0.012)
    grid = Grid(-column / 2, 12.0, 0.0173, int(8.0 / 0.0173), int(column / 0.0173))
    layers = count_layers(segments, np.full(len(segments), width / 2), grid)
    assert float((layers > 0).mean()) == pytest.approx(closed_form, abs=0.004)


WHITE_THREAD = (247, 246, 241)
CLOTHS = {"white": (246, 246, 244), "grey": (128, 128, 128), "black": (20, 20, 22)}


def fill_texture(spacing, tex):
    width = 2.05 * thread_diameter_mm(tex, 1.39, 0.65)
    layers = width / spacing
    whole = int(layers)
    shares = [0.0] * (whole + 2)
    shares[whole], shares[whole + 1] = whole + 1 - layers, layers - whole
    return SewnTexture(tuple(shares), max(spacing - width, 0.01), 0.09, tex / width * 1e-3)


@pytest.mark.parametrize("spacing", [0.30, 0.36, 0.40, 0.45])
def test_white_thread_shows_black_cloth_first(spacing):
    """White thread: black cloth shows more than grey, grey more than white (common practice, no
    source)."""
    texture = fill_texture(spacing, 26.7)
    seen = [
        show_through(WHITE_THREAD, CLOTHS[c], texture, 40.0) for c in ("white", "grey", "black")
    ]
    assert seen[0] < seen[1] < seen[2]


@pytest.mark.parametrize("cloth", ["grey", "black"])
def test_thin_thread_needs_tighter_rows(cloth):
    """The widest row spacing that keeps a difference is smaller for 60 than for 40 weight (common
    practice, no source)."""

    def widest(tex, limit):
        spacings = np.arange(0.60, 0.10, -0.005)
        for s in spacings:
            if show_through(WHITE_THREAD, CLOTHS[cloth], fill_texture(s, tex), 40.0) <= limit:
                return s
        return 0.0

    assert 0.1 < widest(16.7, 6.0) < widest(26.7, 6.0)
