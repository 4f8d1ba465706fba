"""Set text as stitches: the same letter sews the same way, on a line and on an arc."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.properties.strategies import setup_on

from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.lettering.set_text import set_text
from firstpiece.model.lettering import ArcBaseline, StraightBaseline, unplaced_xy
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, Role
from firstpiece.planning.hoop_split import moved_region
from firstpiece.planning.letter_sizes import smallest_cap_mm, stroke_width
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.letter import letter_map

FONT = shipped_fonts()["Noto Sans Bold"]
RED = ThreadColor("poppy", (212, 42, 36), 26.7)
SETUP = setup_on("tee-white")


def sewn(text, height, path=None):
    line = set_text(text, FONT, cap_height_mm=height, path=path, least_gap_mm=1.0)
    design = letter_map(line, RED)
    return design, plan_stitches(design, setup=SETUP)


def upright_cover(design, plan, region):
    """Penetrations of an area's cover as its letter has them upright, to a tenth."""
    mask = (plan.region_id == region.id) & plan.is_stitch & (plan.role == Role.COVER)
    letter = region.letter
    return unplaced_xy(plan.xy_mm[mask], origin_mm=letter.origin_mm, angle_rad=letter.angle_rad)


@pytest.mark.parametrize("path", [None, ArcBaseline(40.0), ArcBaseline(30.0, is_inside=True)])
@pytest.mark.parametrize("height", [6.0, 12.0])
def test_the_same_letter_has_the_same_stitches_wherever_it_stands(path, height):
    design, plan = sewn("banana", height, path)
    of_a = [r for r in design.regions if r.letter and r.letter.text == "a"]
    assert len(of_a) == 3
    covers = [upright_cover(design, plan, r) for r in of_a]
    for one, other in itertools.combinations(covers, 2):
        gaps, _ = nearest(one, other)
        # Positions are written to 0.01 mm; ties at cuts leave out or pass a place or two.
        assert np.mean(gaps <= 0.03) >= 0.9
        assert abs(len(one) - len(other)) <= 6


def nearest(a, b):
    gaps = np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))
    return gaps.min(axis=1), gaps.argmin(axis=1)


def test_letters_are_sewn_as_they_are_read():
    design, plan = sewn("ORCHARD", 10.0)
    order = {t.region_id: t.sewn_order for t in plan.treatments}
    read = [r.letter.order for r in sorted(design.regions, key=lambda r: order[r.id])]
    assert read == sorted(read)


def test_no_more_cuts_than_letters_have_gaps():
    design, plan = sewn("Orchard apples", 12.0)
    assert plan.count(Action.TRIM) <= len(design.regions) - 1


def test_a_turned_line_turns_the_stitches_along():
    _, level = sewn("Apple", 10.0, StraightBaseline())
    _, steep = sewn("Apple", 10.0, StraightBaseline(angle_rad=np.pi / 2))
    assert abs(level.n_stitches - steep.n_stitches) <= 0.02 * level.n_stitches


def test_the_narrow_stroke_of_a_shape_is_measured():
    # A cross of two bars 4 and 2 mm wide: the disc that opens most of it is that of the thin bar.
    cross = shapely.union(shapely.box(-20, -1, 20, 1), shapely.box(-2, -20, 2, 20))
    assert stroke_width(cross) == pytest.approx(2.0, abs=0.1)
    assert stroke_width(shapely.Point(0, 0).buffer(3)) == pytest.approx(6.0, abs=0.3)


def test_thinner_thread_and_firmer_cloth_sew_smaller_letters():
    line = set_text("Orchard", FONT, cap_height_mm=20.0)
    thick = smallest_cap_mm(line, thread_mm=0.398, pull_mm=0.1)
    thin = smallest_cap_mm(line, thread_mm=0.315, pull_mm=0.1)
    soft = smallest_cap_mm(line, thread_mm=0.398, pull_mm=0.3)
    assert thin < thick <= soft
    # 40 weight from about 5 mm, thin thread from about 4 mm: common practice, no source.
    assert 3.0 <= thin <= 4.5
    assert 3.5 <= thick <= 6.0


def test_the_height_does_not_depend_on_the_size_it_was_set_at():
    heights = [
        smallest_cap_mm(set_text("Bee", FONT, cap_height_mm=mm), thread_mm=0.4, pull_mm=0.1)
        for mm in (8.0, 40.0)
    ]
    assert heights[0] == pytest.approx(heights[1], rel=0.02)


def test_text_moved_is_sewn_just_as_before():
    design, plan = sewn("Apple", 10.0, ArcBaseline(25.0))
    shift = (13.7, -4.25)
    moved = replace(design, regions=tuple(moved_region(r, r.id, shift) for r in design.regions))
    again = plan_stitches(moved, setup=SETUP)
    assert again.action.tolist() == plan.action.tolist()
    np.testing.assert_allclose(again.xy_mm - plan.xy_mm, np.tile(shift, (len(plan.xy_mm), 1)),
                               atol=0.0101)  # fmt: skip


def test_the_same_text_gives_the_same_bytes():
    assert sewn("Orchard", 8.0)[1].content_id() == sewn("Orchard", 8.0)[1].content_id()
