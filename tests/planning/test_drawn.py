"""Areas that were drawn as strokes, and areas that are wanted beneath others."""

import numpy as np
import shapely
from tests.properties.strategies import setup_on

from firstpiece.model.region import CentreLine, ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Role, RunKind, StitchSpec, StitchType
from firstpiece.planning.drawn_lines import axis_of_lines
from firstpiece.planning.stage import plan_stitches

SETUP = setup_on()
COLORS = SETUP.thread.colors


def map_of(*regions):
    x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in regions])
    matches = tuple(ColorMatch(COLORS[k].rgb, COLORS[k], 0.0) for k in range(3))
    return RegionMap(regions, matches, x1 - x0, y1 - y0)


def stroke(xy, width=0.5):
    xy = np.asarray(xy, float)
    return CentreLine(xy, np.full(len(xy), width))


def test_strokes_that_cross_are_branches_between_their_meetings():
    across = stroke([(-10, 0), (0, 0), (10, 0)])
    up = stroke([(0, -5), (0, 0), (0, 5)])
    axis = axis_of_lines([across, up])
    assert [round(b.length_mm) for b in axis.branches] == [10, 10, 5, 5]
    meeting = {axis.branches[0].end_node, axis.branches[2].end_node, axis.branches[3].start_node}
    assert len(meeting) == 1


def test_a_drawn_line_is_run_along_its_stroke():
    t = np.linspace(-15, 15, 60)
    line = stroke(np.column_stack([t, 2 * np.sin(t / 3)]))
    # The outline is lopsided; the stroke says where the line runs.
    shape = shapely.LineString(line.xy_mm).buffer(0.25).union(shapely.box(-2, 0.3, 2, 0.7))
    region_map = map_of(Region(0, max(shapely.get_parts(shape), key=lambda p: p.area), 0,
                               lines=(line,)))  # fmt: skip
    spec = {0: StitchSpec(run=RunKind.SINGLE)}
    plan = plan_stitches(region_map, setup=SETUP, specs=spec)
    points = plan.xy_mm[plan.is_stitch & (plan.role == Role.COVER)]
    off = shapely.distance(shapely.LineString(line.xy_mm), shapely.points(points))
    assert off.max() < 0.1


def test_what_is_wanted_beneath_is_sewn_first_and_on_under_the_other():
    band = shapely.box(-15, -3, 15, 3)
    lower = shapely.box(-15, -10, 15, -3)
    whole = Region(0, lower, 0, beneath=band)
    top = Region(2, shapely.box(-15, 3, 15, 10), 2)
    plan = plan_stitches(map_of(whole, Region(1, band, 1), top), setup=SETUP)
    order = {t.region_id: t.sewn_order for t in plan.treatments}
    assert order[0] < order[1]
    kinds = {t.region_id: t.stitch_type for t in plan.treatments}
    assert kinds[0] is StitchType.FILL
    of_lower = plan.xy_mm[plan.is_stitch & (plan.region_id == 0) & (plan.role == Role.COVER)]
    assert of_lower[:, 1].max() > 2.0
