"""Branching columns are sewn without a lift and nothing but cover is laid on finished satin."""

import numpy as np
import pytest
import shapely

from firstpiece.model.stitch import Role
from firstpiece.planning.column_tree import sew_column_tree
from firstpiece.planning.satin import satin_stitches

BAR = shapely.box(0, 0, 30, 2.4)
TEE = BAR.union(shapely.box(13.8, 2, 16.2, 20))
COMB = BAR.union(shapely.union_all([shapely.box(x, 2, x + 2.4, 14) for x in (0, 9, 18, 27)]))
WHEEL = (
    shapely.Point(15, 10).buffer(9).boundary.buffer(1.2)
    .union(shapely.LineString([(6, 10), (24, 10)]).buffer(1.1, cap_style="flat"))
)  # fmt: skip


def columns_of(shape):
    return satin_stitches(
        shape, column_spacing_mm=0.4, pull_mm=0.1, longest_stitch_mm=7.5, thread_width_mm=0.4
    )


@pytest.mark.parametrize("shape", [TEE, COMB, WHEEL], ids=["tee", "comb", "wheel"])
@pytest.mark.parametrize("entry", [(0.0, 0.0), (15.0, 20.0), (30.0, 1.0)])
def test_one_path_sews_every_column(shape, entry):
    columns = columns_of(shape)
    assert len(columns) > 1
    paths = sew_column_tree(columns, shape, np.array(entry))
    assert len(paths) == 1
    cover = paths[0].role == Role.COVER
    assert cover.sum() >= 0.97 * sum(len(c.points_mm) for c in columns)
    steps = np.hypot(*np.diff(paths[0].xy_mm, axis=0).T)
    assert steps.max() < 8.0


@pytest.mark.parametrize("shape", [TEE, COMB], ids=["tee", "comb"])
def test_underlay_comes_before_the_cover_that_lies_on_it(shape):
    path = sew_column_tree(columns_of(shape), shape, np.array([0.0, 0.0]))[0]
    laid = shapely.Polygon()
    on_top = 0.0
    for i in range(1, len(path)):
        step = shapely.LineString(path.xy_mm[i - 1 : i + 1])
        if path.role[i] == Role.COVER:
            laid = laid.union(step.buffer(0.2, cap_style="flat"))
        else:
            on_top += step.intersection(laid.buffer(-0.15)).length
    # A hop over the end of the branch just sewn is allowed at each junction.
    assert on_top <= 4.0


def test_far_columns_make_paths_of_their_own():
    columns = columns_of(BAR) + columns_of(shapely.box(0, 40, 30, 42.4))
    paths = sew_column_tree(columns, shapely.box(0, 0, 30, 42.4), np.array([0.0, 0.0]))
    assert len(paths) == 2
