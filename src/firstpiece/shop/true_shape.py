"""A plan whose outlines are set out so that the piece settles as drawn, by the forecast.

Input: a design, its set-up and wishes. Output: the plan, the outlines it was made to, and how far
settled edges lie from the drawing before and after. Planning and forecasting take turns.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.true_shape import aim_outlines
from firstpiece.model.stitch import StitchSpec
from firstpiece.planning.compensation import pull_share
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.lookup import Kept, look_up
from firstpiece.shop.stage_version import stage_version

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import shapely

    from firstpiece.forecasting.true_shape import TrueShape
    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import SewFrom, StitchPlan
    from firstpiece.store.results import ResultShelf

ROUNDS = 2
"""Plans made to new outlines; a third gains nothing that is larger than a stitch's own scatter."""


@dataclass(frozen=True, slots=True, eq=False)
class ShapeAim:
    """Outlines a plan was made to, and what that did.

    Parameters
    ----------
    outlines : mapping of int to shapely.Polygon [mm]
        By area id; empty where cloth gives way too far to be forecast.
    missed_mm : tuple of (float, float) [mm]
        How far settled edges lie from the drawn ones, mean and 95 %: with planning's own widening
        first, then after each round.
    """

    outlines: Mapping[int, shapely.Polygon]
    missed_mm: tuple[tuple[float, float], ...]


def plan_true_shape(
    design: Kept[RegionMap],
    *,
    setup: Setup,
    specs: Mapping[int, StitchSpec],
    shelf: ResultShelf,
    sew_from: SewFrom | None = None,
) -> tuple[Kept[StitchPlan], ShapeAim]:
    """Return the plan that settles to the drawn shapes by the forecast's model.

    Notes
    -----
    The last round's plan is the one returned, so its own miss is the last of ``missed_mm``.
    """
    kept = look_up(
        shelf,
        "planning",
        (design, setup, specs, sew_from, "true shape", ROUNDS, stage_version("forecasting")),
        lambda: _aim(
            design.value,
            partial(plan_stitches, setup=setup, memo=shelf.memo, sew_from=sew_from),
            setup,
            specs,
        ),
    )
    plan, outlines, missed = kept.value
    return Kept(kept.key, plan), ShapeAim(outlines, missed)


def _aim(
    drawn: RegionMap,
    plan_it: Callable[..., StitchPlan],
    setup: Setup,
    specs: Mapping[int, StitchSpec],
) -> tuple[StitchPlan, dict[int, shapely.Polygon], tuple[tuple[float, float], ...]]:
    plan = plan_it(drawn, specs=specs)
    aim = aim_outlines(plan, drawn=drawn, setup=setup)
    missed, used = [(aim.mean_mm, aim.p95_mm)], {}
    for _round in range(ROUNDS if aim.outlines or aim.widen_mm else 0):
        used = dict(aim.outlines)
        plan = plan_it(drawn, specs=_widened(drawn, specs, aim), outlines=used)
        aim = aim_outlines(plan, drawn=drawn, setup=setup, outlines=used)
        missed.append((aim.mean_mm, aim.p95_mm))
    return plan, used, tuple(missed)


def _widened(
    drawn: RegionMap, specs: Mapping[int, StitchSpec], aim: TrueShape
) -> dict[int, StitchSpec]:
    """Return the wishes with each satin area's widening; a person's own stays."""
    wider = dict(specs)
    for area_id, out_mm in sorted(aim.widen_mm.items()):
        now = wider.get(area_id, StitchSpec())
        if now.pull_mm is None:
            polygon = drawn.region(area_id).polygon
            width = np.array([2.0 * polygon.area / polygon.length])
            share = float(pull_share(width)[0])
            wider[area_id] = replace(now, pull_mm=round(out_mm / share, 3))
    return wider
