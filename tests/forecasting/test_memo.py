"""An edit forecast from what is already known gives what forecasting everything anew gives."""

from dataclasses import replace

import numpy as np
from tests.forecasting.sewing import (
    LEAF,
    WHITE,
    map_of,
    plan_of,
    rows_points,
    setup_on,
    square,
    treated,
    zigzag_points,
)

from firstpiece.forecasting.changed_thread import changed_pieces
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.model.frozen import content_hash
from firstpiece.model.memo import Memo
from firstpiece.model.stitch import Role, StitchType

SETUP = setup_on("apron-forest")
PLACES = ((-15.0, -15.0), (0.0, -15.0), (15.0, -15.0), (-15.0, 0.0), (0.0, 0.0), (15.0, 10.0))


def design(spacings, order=None, bare=None):
    """Six blocks of rows and a column, in an order; one of them may have no stitches."""
    order = order or range(len(PLACES))
    runs = [
        (rows_points(10.0, spacings[k], x=PLACES[k][0], y=PLACES[k][1]), k % 2, k, Role.COVER)
        for k in order
        if k != bare
    ]
    runs.append((zigzag_points(3.0, 12.0, 0.4, x=0.0, y=12.0), 0, 6, Role.COVER))
    shapes = [(square(10.0, x, y), k % 2) for k, (x, y) in enumerate(PLACES)]
    areas = map_of(*shapes, (square(3.0, 0.0, 12.0).buffer(0.1), 0), threads=(WHITE, LEAF))
    treatments = tuple(
        treated(k, spacing=spacings[k] if k < 6 else 0.4, thread=k % 2, order=k,
                kind=StitchType.SATIN if k == 6 else StitchType.FILL)
        for k in range(7)
    )  # fmt: skip
    return plan_of(*runs, threads=(WHITE, LEAF), treatments=treatments), areas


EVEN = [0.4] * 6
EDITS = {
    "one area's spacing": design([0.4, 0.4, 0.4, 0.4, 0.52, 0.4]),
    "two areas": design([0.7, 0.4, 0.4, 0.4, 0.4, 0.36]),
    "an area without stitches": design(EVEN, bare=4),
    "another order": design(EVEN, order=(5, 3, 1, 0, 2, 4)),
    "everything": design([0.5, 0.6, 0.7, 0.5, 0.6, 0.7]),
}


def test_edits_give_what_everything_anew_gives():
    """One memo through all edits, one after another, and back to the first design."""
    memo = Memo()
    first, areas = design(EVEN)
    before = forecast_sewout(first, region_map=areas, setup=SETUP, memo=memo)
    for name, (edited, same_areas) in EDITS.items():
        again = forecast_sewout(edited, region_map=same_areas, setup=SETUP, memo=memo)
        anew = forecast_sewout(edited, region_map=same_areas, setup=SETUP)
        assert content_hash(again) == content_hash(anew), name
    back = forecast_sewout(first, region_map=areas, setup=SETUP, memo=memo)
    assert content_hash(back) == content_hash(before)


def test_another_cloth_thread_or_design_is_never_mixed_up():
    memo = Memo()
    plan, areas = design(EVEN)
    forecast_sewout(plan, region_map=areas, setup=SETUP, memo=memo)
    other = setup_on("apron-natural", thread="poly-60")
    thick = replace(SETUP, thread=replace(SETUP.thread, flattening=replace(
        SETUP.thread.flattening, high=2.2)))  # fmt: skip
    moved, moved_areas = design([0.5] * 6)
    for one, on, setup in ((plan, areas, other), (plan, areas, thick), (moved, moved_areas, other)):
        again = forecast_sewout(one, region_map=on, setup=setup, memo=memo)
        assert content_hash(again) == content_hash(forecast_sewout(one, region_map=on, setup=setup))


def test_only_what_differs_counts_as_changed():
    rng = np.random.default_rng(1)
    before = rng.normal(size=(200, 5))
    after = before.copy()
    after[57] += 0.1
    gone, new = changed_pieces(before, after)
    assert gone.tolist() == [before[57].tolist()]
    assert new.tolist() == [after[57].tolist()]
    # Moved in the order, or doubled: told apart as multisets.
    gone, new = changed_pieces(before, before[::-1].copy())
    assert len(gone) == len(new) == 0
    doubled = np.concatenate([before, before[:3]])
    gone, new = changed_pieces(before, doubled)
    assert len(gone) == 0
    assert {tuple(row) for row in new} == {tuple(row) for row in before[:3]}
    gone, new = changed_pieces(np.zeros((0, 5)), before[:2])
    assert (len(gone), len(new)) == (0, 2)


def test_a_memo_forgets_the_least_used():
    memo = Memo(most=2)
    for key in (1, 2, 1, 3):
        memo.recall("squares", key, lambda key=key: key * key)
    assert (memo.n_made, memo.n_found) == (3, 1)
    memo.recall("squares", 2, lambda: 4)
    assert memo.n_made == 4
    memo.keep_only("large", "first")
    memo.keep_only("large", "second")
    assert memo.latest("large") == "second"
    assert memo.latest("none") is None
    assert memo.recall_one("one", 1, lambda: "a") == memo.recall_one("one", 1, lambda: "b") == "a"
    assert memo.recall_one("one", 2, lambda: "b") == "b"
