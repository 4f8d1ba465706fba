"""Facts of the trade about ties, needles and thin thread (common practice, no source): many ties at
one place make a bump that can be felt; thin thread goes with a thinner needle; letters read better
a little larger and in thinner thread; more colours and trims take longer."""

import numpy as np
from tests.forecasting.sewing import moved, plan_of, rows_points, setup_on, zigzag_points

from firstpiece.forecasting.laid_thread import section_widths_mm
from firstpiece.forecasting.lumps import find_lumps
from firstpiece.forecasting.sewing_time import forecast_minutes
from firstpiece.forecasting.spacing_choice import solve_spacing
from firstpiece.model.material import Needle
from firstpiece.model.stitch import Role

SETUP, THIN = setup_on(), setup_on(thread="poly-60")
KNOT = np.array([[0.0, 0.0], [0.5, 0.0], [0.0, 0.0], [0.5, 0.0], [0.0, 0.0]])


def height(n):
    """Height forecast on the back where so many ties meet [mm]."""
    runs = []
    for k in range(n):
        runs.append((moved(KNOT, 0.1 * k, 0.0), 0, 0, Role.TIE))
        runs.append((np.array([[500.0, 500.0 + k], [530.0, 530.0 + k]]), 0, 0, Role.COVER))
    (lump,) = find_lumps(plan_of(*runs), SETUP)
    return lump.height.band.p50


def test_ties_at_one_place_make_a_bump():
    """Every tie more at one place makes the bump higher, and six pass a millimetre, which a finger
    feels (common practice, no source)."""
    heights = [height(n) for n in (2, 3, 4, 6)]
    assert heights == sorted(heights)
    assert heights[-1] > 1.0 > heights[0]


def test_thin_thread_passes_a_thinner_needle():
    """60 weight passes the eye of a 65/9 needle, 40 weight does not (common practice, no
    source)."""
    small = Needle(65, "sharp")
    fits = [
        solve_spacing(s.thread, (240, 240, 240), (20, 20, 20), needle=small, tolerance=8.0)
        for s in (SETUP, THIN)
    ]
    assert [f.needle_fits for f in fits] == [False, True]


def test_thin_thread_draws_finer_letters():
    """A laid line of 60 weight is narrower than one of 40 weight: strokes as fine as a line can be
    set in letters that much smaller (common practice, no source)."""
    plan = plan_of((zigzag_points(2.0, 6.0, 0.4), 0, 0, Role.COVER))
    card, thin = SETUP.thread, THIN.thread
    wide = section_widths_mm(plan, card, card.flattening.value)[0]
    narrow = wide * thin.laid_width_mm / card.laid_width_mm
    assert 0.6 < narrow / wide < 0.9


def test_trims_take_longer_than_going_on():
    """The same stitches with trims between take longer (common practice, no source)."""
    rows = rows_points(10.0, 0.5)
    once = plan_of((rows, 0, 0, Role.COVER))
    cut = plan_of(*[(part, 0, 0, Role.COVER) for part in np.array_split(rows, 5)])
    machine = SETUP.machine
    assert forecast_minutes(cut, machine).band.p50 > forecast_minutes(once, machine).band.p50
