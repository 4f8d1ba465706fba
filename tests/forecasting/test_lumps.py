"""Ties: how they cluster, how high they get."""

import numpy as np
import pytest
from tests.forecasting.sewing import moved, plan_of, setup_on

from firstpiece.forecasting.lumps import find_lumps, find_ties
from firstpiece.model.stitch import Role

SETUP = setup_on()
KNOT = np.array([[0.0, 0.0], [0.5, 0.0], [0.0, 0.0], [0.5, 0.0], [0.0, 0.0]])
LONG = np.array([[0.0, 0.0], [30.0, 30.0]])


def tied_at(*places):
    """A plan that ties once at each place, with a long way between ties."""
    runs = []
    for x, y in places:
        runs += [(moved(KNOT, x, y), 0, 0, Role.TIE), (moved(LONG, 500.0, 500.0), 0, 0, Role.COVER)]
    return plan_of(*runs)


def test_a_tie_is_a_run_of_tie_stitches():
    ties = find_ties(tied_at((0, 0), (20, 0)))
    assert ties.length_mm == pytest.approx([2.0, 2.0])
    assert ties.n_stitches.tolist() == [5, 5]


def test_ties_apart_make_no_lump():
    assert find_lumps(tied_at((0, 0), (1.2, 0), (2.4, 0)), SETUP) == ()


def test_ties_together_make_one_lump_whose_height_grows_with_them():
    heights = []
    for n in (2, 3, 4):
        (lump,) = find_lumps(tied_at(*[(0.1 * k, 0.0) for k in range(n)]), SETUP)
        assert lump.n_ties == n
        assert lump.height.band.p05 < lump.height.band.p50 < lump.height.band.p95
        heights.append(lump.height.band.p50)
    assert np.array(heights) / np.array([2, 3, 4]) == pytest.approx([heights[0] / 2] * 3)


def test_height_of_one_tie_by_volume():
    # 2 mm of top (0.0296 mm²) and bobbin thread (13 tex) and five loops over a 0.4 mm disc, 75 %.
    top = 26.7e-3 / (1.39 * 0.65)
    volume = 2 * (2.0 * top * (1 + 13 / 26.7) + 5 * 0.3 * top)
    (lump,) = find_lumps(tied_at((0, 0), (0, 0)), SETUP)
    assert lump.height.band.p50 == pytest.approx(volume / (0.75 * np.pi * 0.16), rel=1e-6)


def test_a_chain_of_spread_ties_is_not_one_lump():
    lumps = find_lumps(tied_at(*[(0.7 * k, 0.0) for k in range(9)]), SETUP)
    assert max(lump.n_ties for lump in lumps) <= 3


def test_thread_ends_stand_for_ties_that_are_not_marked():
    line = np.array([[0.0, 0.0], [3.0, 0.0], [6.0, 0.0]])
    plan = plan_of(*[(moved(line, 0.0, 0.1 * k), 0, 0, Role.COVER) for k in range(3)])
    lumps = find_lumps(plan, SETUP)
    assert [lump.n_ties for lump in lumps] == [3, 3]
