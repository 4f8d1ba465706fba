"""The model's values refuse what cannot be, and answer small questions about themselves."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from firstpiece.model.artwork import Artwork
from firstpiece.model.finding import Finding, Remedy, Severity, rank_findings
from firstpiece.model.hooping import box_corners, largest_scale, smallest_hoop
from firstpiece.model.material import Hoop, Needle, ThreadColor
from firstpiece.model.measured import Band, Measured
from firstpiece.model.region import BARE, ColorMatch, Region, RegionMap, TraceOptions, region_faults
from firstpiece.model.stitch import Action, StitchPlan

RED = ThreadColor("poppy", (206, 40, 38), 26.7)


@pytest.mark.parametrize(
    "make",
    [
        lambda: ThreadColor("x", (0, 0, 256), 26.7),
        lambda: ThreadColor("x", (0, 0), 26.7),
        lambda: ThreadColor("x", (0, 0, 0), 0.2),
        lambda: Needle(10, "ball"),
        lambda: Measured(2.0, 0.0, 1.0, "mm", "guess"),
        lambda: Measured(1.0, 0.0, 2.0, "mm", ""),
        lambda: Measured(float("nan"), 0.0, 2.0, "mm", "guess"),
        lambda: Band(2.0, 1.0, 3.0),
        lambda: TraceOptions(n_colors=0),
        lambda: TraceOptions(smooth_mm=-1.0),
        lambda: Finding("x", Severity.WARN, "no remedy is offered"),
        lambda: Artwork("x", 1, 1),
        lambda: Artwork("x", 1, 1, pixels=np.zeros((1, 1, 3), np.uint8)),
        lambda: Region(0, shapely.Polygon(), 0),
        lambda: Region(0, shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), 0),
        lambda: RegionMap((Region(0, shapely.box(0, 0, 1, 1), 2),), (), 1, 1),
        lambda: plan_of([(0, 0)], [Action.END], thread=[3]),
        lambda: plan_of([(0, np.nan)], [Action.END]),
        lambda: plan_of([(0, 0), (1, 1)], [Action.END]),
    ],
)
def test_what_cannot_be_is_refused(make):
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - each has a sentence of its own
        make()
    assert str(caught.value)


def plan_of(xy, action, thread=None) -> StitchPlan:
    n = len(action)
    return StitchPlan(
        xy_mm=np.array(xy, float),
        action=action,
        thread=thread or [0] * n,
        region_id=np.zeros(n),
        role=np.zeros(n),
        threads=(RED, RED),
    )


def test_a_plan_counts_and_measures_its_penetrations():
    stitch, jump, trim, change = Action.STITCH, Action.JUMP, Action.TRIM, Action.COLOR_CHANGE
    plan = plan_of(
        [(0, 0), (3, 0), (3, 0), (50, 50), (3, 4), (3, 5), (3, 5), (3, 6), (4, 6)],
        [stitch, stitch, trim, jump, stitch, stitch, change, stitch, stitch],
        [0, 0, 0, 0, 0, 0, 1, 1, 1],
    )
    assert plan.n_stitches == 6
    assert (plan.count(trim), plan.count(jump), plan.count(change)) == (1, 1, 1)
    assert plan.size_mm == (4.0, 6.0)
    # Thread lies only from one penetration to the next: not over jumps, trims or changes.
    assert plan.sewn_segments().tolist() == [1, 5, 8]


def test_an_empty_plan_is_a_plan():
    plan = plan_of(np.zeros((0, 2)), [])
    assert (plan.n_stitches, plan.size_mm) == (0, (0.0, 0.0))
    assert len(plan.sewn_segments()) == 0


def test_a_plan_is_known_by_its_content():
    first = plan_of([(0, 0), (1, 0)], [Action.STITCH, Action.END])
    same = plan_of([(0, 0), (1, 0)], [Action.STITCH, Action.END])
    moved = plan_of([(0, 0), (1, 0.01)], [Action.STITCH, Action.END])
    assert first.content_id() == same.content_id() != moved.content_id()
    # The stitch list is written to 0.01 mm: less than half of that is the same list.
    hair = plan_of([(0, 0), (1, 0.004)], [Action.STITCH, Action.END])
    assert hair.content_id() == first.content_id()
    assert len(first.content_id()) == 8


def test_faults_of_a_map_are_told():
    left, right = shapely.box(-2, -1, 0, 1), shapely.box(0, -1, 2, 1)
    match = (ColorMatch(RED.rgb, RED, 0.0),)
    whole = RegionMap((Region(0, left, 0), Region(1, right, BARE)), match, 2, 2)
    assert region_faults(RegionMap((Region(0, left, 0), Region(1, right, 0)), match, 4, 2)) == ()
    assert "off" not in region_faults(whole)
    overlapping = RegionMap((Region(0, left, 0), Region(0, left, 0)), match, 4, 2)
    told = " ".join(region_faults(overlapping))
    assert "same id" in told
    assert "overlap by 4.0000" in told
    assert "not centred" in told


def test_a_hoop_clears_with_its_margin_all_round():
    square = (Hoop("s", "S", 120, 100, 10),)
    assert smallest_hoop(box_corners(100, 80), square)
    assert smallest_hoop(box_corners(100.1, 80), square) is None
    circle = (Hoop("c", "C", 120, 120, 10, is_round=True),)
    # A square in a circle of diameter 100: side 100/√2.
    assert smallest_hoop(box_corners(70.7, 70.7), circle)
    assert smallest_hoop(box_corners(70.8, 70.8), circle) is None
    assert largest_scale(box_corners(10, 10), circle[0]) == pytest.approx(7.0711, abs=1e-3)


def test_the_outline_counts_not_its_box():
    """A disc of 98 mm clears a round hoop of 100 mm, though its box would not; not off centre."""
    turn = np.linspace(0, 2 * np.pi, 60)
    disc = np.column_stack([np.cos(turn), np.sin(turn)]) * 49.0
    hoop = (Hoop("c", "C", 120, 120, 10, is_round=True),)
    assert smallest_hoop(disc, hoop)
    assert smallest_hoop(box_corners(98, 98), hoop) is None
    assert smallest_hoop(disc + np.array([2.0, 0.0]), hoop) is None


def test_findings_are_ranked_worst_first_and_stably():
    remedy = (Remedy("do it", "height"),)
    block = Finding("a", Severity.BLOCK, "a", remedies=remedy)
    far = Finding("b", Severity.WARN, "b", measured=4.0, limit=1.0, remedies=remedy)
    near = Finding("c", Severity.WARN, "c", measured=2.0, limit=1.0, remedies=remedy)
    note = Finding("d", Severity.NOTE, "d")
    assert rank_findings((note, near, far, block)) == (block, far, near, note)
    assert rank_findings((near, note, block, far)) == (block, far, near, note)
