"""Each finding appears where it should, not where it should not, and offers something to do."""

import dataclasses
import itertools

import numpy as np
import pytest
import shapely
from tests.forecasting.sewing import (
    BLACK,
    LEAF,
    WHITE,
    filled_square,
    map_of,
    moved,
    plan_of,
    rows_points,
    setup_on,
    square,
    treated,
    zigzag_points,
)

from firstpiece.forecasting.group_findings import group_findings
from firstpiece.forecasting.narrow_parts import narrow_parts
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.kernels.coverage import Grid
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.hooping import needle_places, smallest_hoop
from firstpiece.model.measured import Measured
from firstpiece.model.region import BARE
from firstpiece.model.stitch import Role, StitchType


def findings(plan, areas, garment="apron-natural"):
    forecast = forecast_sewout(plan, region_map=areas, setup=setup_on(garment))
    return {f.code: f for f in forecast.findings}


def leaf_square(side=20.0, spacing=0.36):
    return filled_square(side, spacing, LEAF)


def test_a_sound_plan_has_nothing_to_warn_of():
    found = findings(*leaf_square())
    assert [f for f in found.values() if f.severity > Severity.NOTE] == []


def test_every_finding_is_complete():
    plan, areas = filled_square(70.0, 0.6)
    for garment in ("tee-black", "tee-white", "towel-white"):
        for finding in findings(plan, areas, garment).values():
            assert finding.reason.endswith(".")
            assert finding.reason[0].isupper()
            assert "{" not in finding.reason
            assert finding.remedies
            for remedy in finding.remedies:
                assert "{" not in remedy.label


def test_cloth_shows_with_a_spacing_that_closes_it():
    plan, areas = filled_square(20.0, 0.6)
    shows = findings(plan, areas, "tee-black")["cloth-shows"]
    assert shows.severity is Severity.WARN
    assert shows.measured > shows.limit
    (spacing,) = [r for r in shows.remedies if r.action == "spacing"]
    assert spacing.region_id == 0
    # Doing as told must help.
    closer, areas = filled_square(20.0, spacing.value)
    after = findings(closer, areas, "tee-black").get("cloth-shows")
    assert after is None or after.measured < 0.6 * shows.measured


def test_cloth_does_not_show_on_a_garment_of_the_threads_colour():
    plan, areas = filled_square(20.0, 0.6)
    assert "cloth-shows" not in findings(plan, areas, "tee-white")


def test_what_a_swatch_would_tell_is_said():
    plan, areas = leaf_square(spacing=0.38)
    unsure = findings(plan, areas, "tee-white")["cover-unsure"]
    assert unsure.severity is Severity.NOTE
    assert "not known without a sewn swatch" in unsure.reason


def test_a_measured_thread_leaves_nothing_unsure():
    plan, areas = leaf_square(spacing=0.38)
    setup = setup_on("tee-white")
    source = "this shop, measured on a swatch"
    measured = {
        name: Measured(value, value, value, "", source)
        for name, value in (("flattening", 2.05), ("scatter", 40.0))
    }
    setup = dataclasses.replace(setup, thread=dataclasses.replace(setup.thread, **measured))
    forecast = forecast_sewout(plan, region_map=areas, setup=setup)
    assert "cover-unsure" not in {f.code for f in forecast.findings}
    assert forecast.regions[0].show_through.certainty == "calibrated"
    assert forecast.regions[0].show_through.band.is_exact


def test_an_uncovered_spot_is_found_in_its_place():
    rows = rows_points(20.0, 0.36)
    hole = shapely.Point(4.0, -3.0).buffer(1.0)
    # Break the rows round the hole: pieces that would cross it are cut into two runs.
    runs, run = [], [rows[0]]
    for a, b in itertools.pairwise(rows):
        crossing = shapely.LineString([a, b]).intersection(hole)
        if crossing.is_empty:
            run.append(b)
            continue
        enter, leave = np.array(crossing.coords)
        runs.append((np.array([*run, enter]), 0, 0, Role.COVER))
        run = [leave, b]
    runs.append((np.array(run), 0, 0, Role.COVER))
    spot = findings(plan_of(*runs, threads=(LEAF,)), map_of((square(20.0), 0), threads=(LEAF,)))[
        "uncovered-spot"
    ]
    assert spot.where_mm == pytest.approx((4.0, -3.0), abs=0.15)
    # Half a thread of each cut row reaches into the hole.
    assert spot.measured == pytest.approx(2.0 - 0.4, abs=0.15)


def test_too_small_for_any_thread():
    plan, _ = leaf_square()
    areas = map_of((square(20.0), 0), (square(0.5, 14.0), 0), threads=(LEAF,))
    small = findings(plan, areas)["too-small"]
    assert small.where_mm == pytest.approx((14.0, 0.0), abs=0.1)
    assert {r.action for r in small.remedies} == {"height", "drop"}


def test_thin_detail():
    hair = shapely.box(10.0, -0.12, 16.0, 0.12)
    line = np.column_stack([np.linspace(10, 16, 4), np.zeros(4)])
    plan = plan_of(
        (rows_points(20.0, 0.36), 0, 0, Role.COVER), (line, 0, 0, Role.COVER), threads=(LEAF,)
    )
    thin = findings(plan, map_of((square(20.0).union(hair), 0), threads=(LEAF,)))["thin-detail"]
    assert thin.measured == pytest.approx(0.24, abs=0.06)
    assert 10 < thin.where_mm[0] < 16
    height = next(r for r in thin.remedies if r.action == "height")
    assert height.value == pytest.approx(20.0 * thin.limit / thin.measured, abs=1.1)


def test_thin_detail_beside_another_colour():
    hair = shapely.box(-8.0, -0.12, 8.0, 0.12)
    line = np.column_stack([np.linspace(-8, 8, 9), np.zeros(9)])
    plan = plan_of(
        (rows_points(20.0, 0.36), 0, 0, Role.COVER),
        (line, 1, 1, Role.COVER),
        threads=(LEAF, BLACK),
    )
    areas = map_of((square(20.0).difference(hair), 0), (hair, 1), threads=(LEAF, BLACK))
    thin = findings(plan, areas)["thin-detail"]
    assert thin.region_id == 1
    assert thin.measured == pytest.approx(0.24, abs=0.06)


@pytest.mark.parametrize(("gap", "closes"), [(0.3, True), (0.5, True), (1.0, False), (3.0, False)])
def test_narrow_gap(gap, closes):
    # On twill: 2 · 0.12 mm of pull and 0.40 mm of thread.
    x = 5.0 + gap / 2
    runs = [(rows_points(10.0, 0.36, x=s * x), 0, k, Role.COVER) for k, s in enumerate((-1, 1))]
    areas = map_of((square(10.0, -x), 0), (square(10.0, x), 0), threads=(LEAF,))
    found = findings(plan_of(*runs, threads=(LEAF,)), areas)
    assert ("narrow-gap" in found) == closes
    if closes:
        assert found["narrow-gap"].measured == pytest.approx(gap, abs=0.07)
        assert abs(found["narrow-gap"].where_mm[0]) < gap


def test_a_narrow_bare_area_counts_as_a_gap():
    slit = shapely.box(-8.0, -0.2, 8.0, 0.2)
    areas = map_of((square(20.0).difference(slit), 0), (slit, BARE), threads=(LEAF,))
    plan, _ = leaf_square()
    assert findings(plan, areas)["narrow-gap"].measured == pytest.approx(0.4, abs=0.07)


@pytest.mark.parametrize(("width", "is_long"), [(3.0, False), (6.5, False), (8.0, True)])
def test_long_satin(width, is_long):
    plan = plan_of(
        (zigzag_points(width, 20.0, 0.38), 0, 0, Role.COVER),
        threads=(LEAF,),
        treatments=(treated(kind=StitchType.SATIN),),
    )
    areas = map_of((shapely.box(-width / 2, -10, width / 2, 10), 0), threads=(LEAF,))
    assert ("long-satin" in findings(plan, areas)) == is_long


def test_a_stitch_the_machine_cannot_make_blocks():
    plan = plan_of((np.array([[-9.0, 0.0], [9.0, 0.0]]), 0, 0, Role.COVER), threads=(LEAF,))
    found = findings(plan, map_of((square(18.0), 0), threads=(LEAF,)))
    assert found["stitch-too-long"].severity is Severity.BLOCK


def test_lump_of_ties():
    knot = np.array([[0.0, 0.0], [0.5, 0.0], [0.0, 0.0], [0.5, 0.0]])
    square_run = (rows_points(20.0, 0.36), 0, 0, Role.COVER)
    for n, felt in ((2, False), (3, True), (5, True)):
        ties = []
        for k in range(n):
            ties += [(moved(knot, 0.1 * k, 0.0), 0, 0, Role.TIE)]
            ties += [(np.array([[5.0, 5.0 + k], [8.0, 5.0 + k]]), 0, 0, Role.COVER)]
        plan = plan_of(square_run, *ties, threads=(LEAF,))
        found = findings(plan, map_of((square(20.0), 0), threads=(LEAF,)))
        assert ("lump" in found) == felt
        if felt:
            assert found["lump"].measured == n
            assert found["lump"].where_mm == pytest.approx((0.25 + 0.05 * (n - 1), 0.0), abs=0.02)


def test_lump_between_areas_of_one_thread_offers_to_sew_them_together():
    knot = np.array([[0.0, 0.0], [0.3, 0.0], [0.0, 0.0]])
    areas = map_of(
        (square(8.0, -4.0), 0), (square(8.0, 20.0), 1), (square(8.0, 4.0), 0), threads=(LEAF, BLACK)
    )
    far = moved(knot, 20.0, 0.0)
    runs = [
        (rows_points(8.0, 0.36, x=-4.0), 0, 0, Role.COVER),
        (knot, 0, 0, Role.TIE),
        (far, 1, 1, Role.COVER),
        (knot, 0, 2, Role.TIE),
        (rows_points(8.0, 0.36, x=4.0), 0, 2, Role.COVER),
        (moved(knot, 0.2, 0.0), 0, 2, Role.TIE),
    ]
    told = tuple(treated(k, thread=k % 2, order=k) for k in range(3))
    plan = plan_of(*runs, threads=(LEAF, BLACK), treatments=told)
    order = next(r for r in findings(plan, areas)["lump"].remedies if r.action == "order")
    assert (order.region_id, order.value) == (2, 1.0)


def test_crowded_needle_holes_are_called_a_proxy():
    plan, areas = leaf_square()
    crowd = moved(np.tile([[0.0, 0.0], [0.4, 0.0], [0.2, 0.3]], (7, 1)), 2.0, 2.0)
    plan = plan_of(
        (rows_points(20.0, 0.36), 0, 0, Role.COVER), (crowd, 0, 0, Role.COVER), threads=(LEAF,)
    )
    dense = findings(plan, areas)["dense"]
    assert dense.measured >= 21
    assert dense.where_mm == pytest.approx((2.2, 2.1), abs=0.4)
    assert "not a measure of damage" in dense.reason


@pytest.mark.parametrize(
    ("garment", "side", "is_patch"),
    [("tee-white", 80.0, True), ("tee-white", 30.0, False), ("mat-canvas", 80.0, False)],
)
def test_stiff_patch_only_on_light_knits_and_large_blocks(garment, side, is_patch):
    plan, areas = leaf_square(side, 0.36)
    found = findings(plan, areas, garment)
    assert ("stiff-patch" in found) == is_patch
    if is_patch:
        assert "not known without a sewn swatch" in found["stiff-patch"].reason


def test_low_contrast_offers_a_thread_that_stands_out():
    plan, areas = filled_square(10.0, 0.36, WHITE)
    low = findings(plan, areas, "tee-white")["low-contrast"]
    assert low.severity is Severity.WARN
    rack = {c.name for c in setup_on().thread.colors}
    assert next(r for r in low.remedies if r.action == "recolor").value in rack
    plan, areas = filled_square(10.0, 0.36, BLACK)
    assert "low-contrast" not in findings(plan, areas, "tee-white")


def test_topping_on_terry_and_fleece_only():
    plan, areas = leaf_square(10.0)
    assert "needs-topping" in findings(plan, areas, "towel-white")
    assert "needs-topping" not in findings(plan, areas, "mat-canvas")


def test_a_design_beyond_every_hoop_blocks_and_says_the_height_that_fits():
    plan, areas = long_strip()
    setup = setup_on("tee-white")
    forecast = forecast_sewout(plan, region_map=areas, setup=setup)
    block = next(f for f in forecast.findings if f.code == "no-hoop-clears")
    assert forecast.blocks_sewing
    height = next(r.value for r in block.remedies if r.action == "height")

    def hoop_at(height_mm):
        return smallest_hoop(needle_places(plan) * height_mm / 40.0, setup.hoops)

    assert hoop_at(height) is not None
    assert hoop_at(height + 1.0) is None


def test_the_plans_own_word_on_the_hoop_is_not_repeated():
    told = Finding(
        "no-hoop-clears",
        Severity.BLOCK,
        "It clears no hoop.",
        remedies=(Remedy("Sew it smaller", "height", -1, 200.0),),
    )
    plan, areas = long_strip()
    plan = dataclasses.replace(plan, findings=(told,))
    forecast = forecast_sewout(plan, region_map=areas, setup=setup_on("tee-white"))
    assert [f.reason for f in forecast.findings if f.code == "no-hoop-clears"] == [told.reason]


def test_threads_that_come_back_are_noted():
    places = [-12.0, 0.0, 12.0]
    runs = [(rows_points(10.0, 0.36, x=x), k % 2, k, Role.COVER) for k, x in enumerate(places)]
    areas = map_of(*((square(10.0, x), k % 2) for k, x in enumerate(places)), threads=(LEAF, BLACK))
    changes = findings(plan_of(*runs, threads=(LEAF, BLACK)), areas)["thread-changes"]
    assert (changes.measured, changes.limit) == (2, 1)
    assert "order" in {r.action for r in changes.remedies}
    proved = dataclasses.replace(plan_of(*runs, threads=(LEAF, BLACK)), fewest_changes=2)
    told = findings(proved, areas)["thread-changes"]
    assert "No order" in told.reason
    assert "order" not in {r.action for r in told.remedies}


def test_findings_of_tracing_and_planning_are_kept():
    traced = Finding("from-tracing", Severity.NOTE, "A speck was dropped.")
    planned = Finding("from-planning", Severity.NOTE, "An angle was turned.")
    plan, _ = leaf_square(10.0)
    plan = dataclasses.replace(plan, findings=(planned,))
    areas = map_of((square(10.0), 0), threads=(LEAF,), findings=(traced,))
    assert {"from-tracing", "from-planning"} <= set(findings(plan, areas))


def long_strip():
    """A strip longer than any hoop, sewn up and down its short way."""
    x = np.repeat(np.arange(-200.0, 200.1, 2.0), 2)
    y = np.tile([-20.0, 20.0, 20.0, -20.0], len(x) // 4 + 1)[: len(x)]
    points = np.column_stack([x, y])
    halfway = (points[:-1] + points[1:]) / 2
    both = np.empty((2 * len(points) - 1, 2))
    both[::2], both[1::2] = points, halfway
    areas = map_of((shapely.box(-200, -20, 200, 20), 0), threads=(LEAF,))
    return plan_of((both, 0, 0, Role.COVER), threads=(LEAF,)), areas


def numbered(code, measured, place, severity=Severity.WARN):
    remedy = Remedy(f"Mend {code} at {place}", "spacing", int(place), 0.3)
    return Finding(
        code, severity, f"{code} here.", (place, 0.0), measured, 1.0, "mm", int(place), (remedy,)
    )


def test_repeats_become_one_finding_with_the_worst_place():
    grouped = group_findings([numbered("gap", m, p) for m, p in ((2, 1.0), (5, 2.0), (3, 3.0))])
    (gap,) = grouped
    assert gap.where_mm == (2.0, 0.0)
    assert gap.reason == "gap here. The same in 2 more places."
    assert [r.region_id for r in gap.remedies] == [2, 3, 1]


def test_too_small_figures_rank_by_how_far_they_fall_short():
    grouped = group_findings([numbered("thin", m, p) for m, p in ((0.5, 1.0), (0.1, 2.0))])
    assert grouped[0].where_mm == (2.0, 0.0)


def test_blocks_come_first():
    grouped = group_findings(
        [numbered("a", 9, 1.0), numbered("b", 2, 2.0, Severity.BLOCK), numbered("c", 2, 3.0)]
    )
    assert [f.code for f in grouped] == ["b", "a", "c"]


def test_nothing_found():
    assert group_findings([]) == ()


def test_findings_without_a_place_are_told_one_after_the_other_and_once():
    far = [Finding("thread-far", Severity.NOTE, f"{art} is far.") for art in ("#ff0000", "#00ff00")]
    grouped = group_findings([*far, far[0]])
    assert [f.reason for f in grouped] == ["#ff0000 is far. #00ff00 is far."]


def test_thin_parts_of_a_large_raster_are_found_where_they_are():
    grid = Grid(0.0, 240.0, 0.09, 2667, 2667)
    mask = np.zeros((2667, 2667), dtype=bool)
    mask[500:1500, 400:404] = True
    mask[2000:2600, 1000:2000] = True
    found = narrow_parts(mask, 1.0, grid, smallest_mm2=2.0)
    assert len(found) == 1
    assert found[0].width_mm == pytest.approx(0.36, abs=0.19)
    assert mask[found[0].row, found[0].col]
    assert found[0].area_mm2 == pytest.approx(1000 * 4 * 0.09**2, rel=0.1)
