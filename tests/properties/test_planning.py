"""What holds of every stitch plan, whatever the areas look like."""

import numpy as np
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from tests.properties.strategies import region_maps, setup_on

from firstpiece.model.region import Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchSpec
from firstpiece.planning.compensation import OVERLAP_MM
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on()
# Shrinking a design takes minutes and seldom makes it clearer.
QUIET = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)


def steps_of(plan):
    rows = plan.sewn_segments()
    return rows, np.hypot(*(plan.xy_mm[rows] - plan.xy_mm[rows - 1]).T)


@QUIET
@given(region_maps())
def test_steps_keep_their_limits(region_map):
    plan = plan_stitches(region_map, setup=SETUP)
    rows, steps = steps_of(plan)
    ties = (plan.role[rows] == Role.TIE) | (plan.role[rows - 1] == Role.TIE)
    assert steps.max(initial=0) <= SETUP.machine.longest_stitch_mm
    assert steps[~ties].min(initial=1) >= 0.3 - 1e-9
    assert steps[ties].min(initial=1) > 0.0
    moves = np.flatnonzero(plan.action == Action.JUMP)
    jumps = np.hypot(*(plan.xy_mm[moves] - plan.xy_mm[moves - 1]).T)
    assert jumps.max(initial=0) <= SETUP.machine.longest_jump_mm


@QUIET
@given(region_maps())
def test_needles_stay_in_the_art_grown_by_compensation(region_map):
    plan = plan_stitches(region_map, setup=SETUP)
    # On a grid: the plain union of areas that share edges was seen to lose one of them.
    art = shapely.union_all([r.polygon for r in region_map.sewn_regions], grid_size=1e-6)
    reach = OVERLAP_MM + SETUP.fabric.pull.value + 0.3
    room = art.buffer(reach)
    points = plan.xy_mm[plan.is_stitch]
    inside = shapely.intersects_xy(room, points[:, 0], points[:, 1])
    assert inside.all(), points[~inside][:3]


@QUIET
@given(region_maps())
def test_the_list_is_well_formed(region_map):
    plan = plan_stitches(region_map, setup=SETUP)
    assert plan.action[-1] == Action.END
    assert np.count_nonzero(plan.action == Action.END) == 1
    np.testing.assert_array_equal(plan.xy_mm, np.round(plan.xy_mm, 2))
    assert {t.region_id for t in plan.treatments} == {r.id for r in region_map.sewn_regions}
    assert all(t.reason and t.n_stitches > 0 for t in plan.treatments)
    assert sorted(t.sewn_order for t in plan.treatments) == list(range(len(plan.treatments)))
    changes = np.flatnonzero(np.diff(plan.thread) != 0) + 1
    assert (plan.action[changes] == Action.COLOR_CHANGE).all()
    assert list(dict.fromkeys(plan.thread.tolist())) == list(range(len(plan.threads)))


@QUIET
@given(region_maps())
def test_every_cut_is_tied_on_both_sides(region_map):
    plan = plan_stitches(region_map, setup=SETUP)
    cuts = np.isin(plan.action, (Action.TRIM, Action.COLOR_CHANGE, Action.END))
    stitches = np.flatnonzero(plan.is_stitch)
    for cut in np.flatnonzero(cuts):
        before = stitches[stitches < cut]
        after = stitches[stitches > cut]
        assert plan.role[before[-1]] == Role.TIE
        assert not len(after) or plan.role[after[0]] == Role.TIE


@QUIET
@given(region_maps())
def test_equal_inputs_give_equal_bytes(region_map):
    first = plan_stitches(region_map, setup=SETUP)
    second = plan_stitches(region_map, setup=SETUP)
    for name in ("xy_mm", "action", "thread", "region_id", "role"):
        assert getattr(first, name).tobytes() == getattr(second, name).tobytes()


@QUIET
@given(region_maps(), st.randoms())
def test_the_order_of_wishes_does_not_matter(region_map, random):
    ids = [r.id for r in region_map.sewn_regions]
    wishes = {i: StitchSpec(angle_rad=0.1 * i, row_spacing_mm=0.5) for i in ids}
    shuffled = list(wishes)
    random.shuffle(shuffled)
    other = {i: wishes[i] for i in shuffled}
    a = plan_stitches(region_map, setup=SETUP, specs=wishes)
    b = plan_stitches(region_map, setup=SETUP, specs=other)
    assert a.xy_mm.tobytes() == b.xy_mm.tobytes()


@QUIET
@given(region_maps(), st.integers(-400, 400), st.integers(-400, 400))
def test_the_plan_moves_with_the_art(region_map, dx, dy):
    shift = np.array([dx, dy]) / 16
    moved = RegionMap(
        tuple(
            Region(r.id, shapely.transform(r.polygon, lambda xy: xy + shift), r.color_index)
            for r in region_map.regions
        ),
        region_map.matches,
        region_map.width_mm,
        region_map.height_mm,
    )
    here = plan_stitches(region_map, setup=SETUP)
    there = plan_stitches(moved, setup=SETUP)
    np.testing.assert_array_equal(here.action, there.action)
    np.testing.assert_allclose(there.xy_mm - shift, here.xy_mm, atol=0.011)
