"""Plain plans for the tests: rows, zigzags, ties, written out stitch by stitch."""

import numpy as np
import shapely

from firstpiece.files.material_card import CardDrawer
from firstpiece.model.material import ThreadColor
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import Action, Role, StitchPlan, StitchType, Treatment, Underlay

WHITE = ThreadColor("chalk white", (247, 246, 241), 26.7)
BLACK = ThreadColor("black", (20, 20, 22), 26.7)
LEAF = ThreadColor("leaf green", (47, 115, 53), 26.7)


def setup_on(garment="apron-natural", thread=""):
    return CardDrawer().setup(garment, thread=thread)


def square(side, x=0.0, y=0.0):
    half = side / 2
    return shapely.box(x - half, y - half, x + half, y + half)


def map_of(*areas, threads=(WHITE,), findings=()):
    """A map of (polygon, color_index) pairs; the index may be -1 for bare cloth."""
    regions = tuple(Region(i, polygon, color) for i, (polygon, color) in enumerate(areas))
    x0, y0, x1, y1 = shapely.total_bounds([polygon for polygon, _ in areas])
    matches = tuple(ColorMatch(t.rgb, t, 0.0) for t in threads)
    return RegionMap(regions, matches, x1 - x0, y1 - y0, findings)


def rows_points(side, spacing, step=4.0, x=0.0, y=0.0):
    """Level rows there and back over a square, one pass per row."""
    n_rows = int(np.floor(side / spacing + 1e-9))
    heights = (np.arange(n_rows) + 0.5) * spacing - n_rows * spacing / 2
    along = np.linspace(-side / 2, side / 2, max(2, int(np.ceil(side / step)) + 1))
    points = [
        (x + a, y + h)
        for i, h in enumerate(heights)
        for a in (along if i % 2 == 0 else along[::-1])
    ]
    return np.array(points)


def zigzag_points(width, length, spacing, x=0.0, y=0.0):
    """A single-throw zigzag (304) up a column: two passes in each same-side spacing."""
    n = int(length / spacing * 2)
    side = np.where(np.arange(n) % 2 == 0, -width / 2, width / 2)
    return np.column_stack([x + side, y - length / 2 + np.arange(n) * spacing / 2])


def plan_of(*runs, threads=(WHITE,), treatments=(), findings=()):
    """A plan from runs (points, thread, region_id, role); runs are cut apart by trims."""
    rows = []
    last = None
    for points, thread, region, role in runs:
        if last is not None:
            action = Action.TRIM if thread == last[1] else Action.COLOR_CHANGE
            rows.append((*last[0], action, thread, region, role))
            rows.append((*points[0], Action.JUMP, thread, region, role))
        rows += [(*p, Action.STITCH, thread, region, role) for p in points]
        last = (points[-1], thread)
    end = last if last is not None else ((0.0, 0.0), 0)
    rows.append((*end[0], Action.END, end[1], -1, Role.COVER))
    table = np.array(rows, dtype=np.float64)
    return StitchPlan(
        table[:, :2],
        table[:, 2].astype(np.uint8),
        table[:, 3].astype(np.int16),
        table[:, 4].astype(np.int32),
        table[:, 5].astype(np.uint8),
        threads,
        treatments,
        findings,
    )


def treated(region_id=0, kind=StitchType.FILL, spacing=0.38, thread=0, order=0):
    return Treatment(
        region_id, kind, 0.0, spacing, 4.0, (Underlay.NONE,), 0.2, thread, order, 100, "as told"
    )


def filled_square(side=20.0, spacing=0.38, thread=WHITE):
    """One square area filled with rows, and its map."""
    plan = plan_of(
        (rows_points(side, spacing), 0, 0, Role.COVER),
        threads=(thread,),
        treatments=(treated(spacing=spacing),),
    )
    return plan, map_of((square(side), 0), threads=(thread,))


def moved(points, x, y):
    """The points, shifted."""
    return np.asarray(points) + np.array([x, y])
