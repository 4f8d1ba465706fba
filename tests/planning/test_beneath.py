"""An area that is carried on beneath another is sewn first and all over."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Role
from firstpiece.planning.stage import plan_stitches

SETUP = CardDrawer().setup("apron-natural")


def board(*, keeps: bool):
    """A 40 mm board with a 12 mm plate in its middle."""
    plate = shapely.box(-6, -6, 6, 6)
    ground = shapely.Polygon(shapely.box(-20, -20, 20, 20).exterior, [plate.exterior])
    threads = SETUP.thread.colors[:2]
    matches = tuple(ColorMatch(t.rgb, t, 0.0) for t in threads)
    lower = Region(0, ground, 0, beneath=plate if keeps else None)
    return RegionMap((lower, Region(1, plate, 1)), matches, 40.0, 40.0)


def cover_in_middle(plan) -> int:
    """Count the ground's penetrations more than 2 mm inside the plate."""
    mine = plan.is_stitch & (plan.region_id == 0) & (plan.role == Role.COVER)
    return int(np.count_nonzero(mine & (np.abs(plan.xy_mm) < 4.0).all(axis=1)))


def test_what_is_kept_beneath_is_sewn_and_sewn_first():
    cut = plan_stitches(board(keeps=False), setup=SETUP)
    kept = plan_stitches(board(keeps=True), setup=SETUP)
    assert cover_in_middle(cut) == 0
    # 8 x 8 mm of fill at rows 0.38 mm apart and steps of about 3.5 mm: some 48 penetrations.
    assert cover_in_middle(kept) > 30
    order = {t.region_id: t.sewn_order for t in kept.treatments}
    assert order[0] < order[1]


def test_the_plan_hangs_on_what_is_kept():
    kept = board(keeps=True)
    first = plan_stitches(kept, setup=SETUP)
    moved = replace(kept, regions=kept.regions[::-1])
    assert plan_stitches(moved, setup=SETUP).n_stitches == first.n_stitches
