"""Each area says in one sentence why it is sewn as it is, and the order says whether it is best."""

import itertools

import pytest
import shapely
from tests.planning.test_hoopings import design
from tests.properties.strategies import setup_on

from firstpiece.cli.explain_command import chosen_treatments
from firstpiece.errors import InputError
from firstpiece.model.stitch import Action
from firstpiece.planning.explaining import explain_changes
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on("tee-white")
PLATE = shapely.box(0, 0, 40, 40).difference(shapely.box(10, 10, 13, 30))
BAR = shapely.box(10, 10, 13, 30)


@pytest.fixture(scope="module")
def plan():
    return plan_stitches(design([PLATE, BAR], [0, 1]), setup=SETUP)


def test_an_area_tells_its_kind_spacing_and_what_lies_on_it(plan):
    plate, bar = (next(t for t in plan.treatments if t.region_id == k) for k in (0, 1))
    assert plate.explanation.startswith(plate.reason.rstrip("."))
    assert "before area 1" in plate.explanation
    assert "on top of area 0" in bar.explanation
    assert f"{plate.spacing_mm:.2f} mm" in plate.explanation
    assert all(t.explanation.count(". ") == 0 for t in plan.treatments)
    assert all(t.explanation.endswith(".") for t in plan.treatments)


def test_the_number_of_thread_changes_is_explained_by_what_was_proved(plan):
    assert plan.fewest_changes == plan.count(Action.COLOR_CHANGE) == 1
    assert plan.order_explanation == explain_changes(1, 1, 2)
    sentences = {explain_changes(n, f, 3) for n, f in ((2, 2), (4, 4), (5, 4))}
    assert len(sentences) == 3
    assert "no order has fewer" in explain_changes(4, 4, 3)
    assert "at least 4" in explain_changes(5, 4, 3)


def test_narrow_rings_of_two_threads_need_more_changes_than_threads():
    radii = (20, 18, 15, 11)
    discs = [shapely.Point(0, 0).buffer(r) for r in radii]
    rings = [a.difference(b) for a, b in itertools.pairwise(discs)] + [discs[-1]]
    plan = plan_stitches(design(rings, [0, 1, 0, 1]), setup=SETUP)
    assert plan.count(Action.COLOR_CHANGE) == plan.fewest_changes == 3
    assert "no order has fewer" in plan.order_explanation


def test_an_area_that_is_not_sewn_cannot_be_explained(plan):
    assert [t.region_id for t in chosen_treatments(plan, 1)] == [1]
    with pytest.raises(InputError, match="area 9"):
        chosen_treatments(plan, 9)
