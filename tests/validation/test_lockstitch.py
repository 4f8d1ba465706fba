"""Thread in lockstitches (ISO 4915 types 301 and 304): total 2 + 2·T·S per unit of seam (textile
calculation texts: T = 0.01 in, S = 10 per in gives 2.2 in per in); zigzag length along the slant
(geometry); order of magnitude from a hobby page (5 m top, 3 to 3.5 m bobbin per 1000 stitches).
"""

import numpy as np
import pytest

from firstpiece.files.material_card import CardDrawer
from firstpiece.forecasting.thread_use import forecast_thread, lockstitch
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan


def total(length, thickness, pulled=0.1):
    thread = lockstitch(length, thickness, pulled)
    return thread.top_mm + thread.bobbin_mm


def test_301_worked_example():
    """T = 0.01, S = 10 per unit: 2.2 units of thread per unit of seam."""
    assert 10 * total(0.1, 0.01) == pytest.approx(2.2)


@pytest.mark.parametrize(
    ("length", "thickness", "per_stitch", "per_metre"),
    [(2.5, 1.0, 7.0, 2.8), (4.0, 1.0, 10.0, 2.5), (2.5, 0.5, 6.0, 2.4)],
)
def test_301_in_millimetres(length, thickness, per_stitch, per_metre):
    """Three cases of 2(L + T) in mm per stitch and m per m."""
    assert total(length, thickness) == pytest.approx(per_stitch)
    assert total(length, thickness) / length == pytest.approx(per_metre)


@pytest.mark.parametrize("pulled", [0.0, 0.1, 1 / 3])
def test_the_split_leaves_the_sum(pulled):
    """How far the top thread is pulled round moves thread between top and bobbin only."""
    assert total(4.0, 0.8, pulled) == pytest.approx(2 * 4.8)


def test_304_zigzag():
    """A zigzag of throw w and advance p uses 2(√(p² + w²) + T) per stitch."""
    throw, advance, thickness = 4.0, 0.2, 0.8
    assert total(np.hypot(throw, advance), thickness) == pytest.approx(
        2 * (np.sqrt(advance**2 + throw**2) + thickness)
    )


def straight_plan(n, step):
    xy = np.column_stack([np.arange(n) * step, np.zeros(n)])
    action = np.full(n, Action.STITCH)
    action[-1] = Action.END
    xy[-1] = xy[-2]
    zeros = np.zeros(n)
    thread = (ThreadColor("black", (20, 20, 22), 26.7),)
    return StitchPlan(xy, action, zeros, zeros, zeros, thread)


def test_a_thousand_stitches():
    """1000 stitches of a usual 3.5 mm: top and bobbin within 40 % of 5 m and 3.25 m (hobby page,
    low authority)."""
    setup = CardDrawer().setup("tee-black")
    use, bobbin = forecast_thread(straight_plan(1001, 3.5), setup)
    assert use[0].top_m.band.p50 == pytest.approx(5.0, rel=0.4)
    assert bobbin.band.p50 == pytest.approx(3.25, rel=0.4)
    assert use[0].top_m.band.p50 > bobbin.band.p50
