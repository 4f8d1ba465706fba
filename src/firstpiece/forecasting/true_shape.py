"""Outlines for the needle from which the piece settles as drawn: one step of a fixed point.

Input: the plan made to the outlines so far. Output: the next outlines and how far the settled shape
lay from the drawing. Whoever plans goes round two or three times. It converges against the model
only; how far cloth follows the model is not known without a sewn swatch.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.forecasting.area_shape import moved_edges
from firstpiece.forecasting.laid_thread import lay_thread
from firstpiece.forecasting.settle import settle_cloth
from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from firstpiece.forecasting.area_shape import MovedEdge
    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

    Field = Callable[[NDArray[np.float64]], NDArray[np.float64]]

# An outline is never set out further than this; more asks for backing, not for compensation.
FARTHEST_MM = 1.0
# Set-outs are evened over so many samples (0.8 mm apart) to each side.
EVENED = 2
TIDY_MM = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class TrueShape:
    """One round.

    Parameters
    ----------
    outlines : mapping of int to shapely.Polygon [mm]
        For the next plan, by area id; empty where the model has nothing to say. A satin's is the
        drawn one moved, turned and stretched as a whole, as columns follow even edges.
    widen_mm : mapping of int to float [mm]
        For the next plan, by id of each satin area: how far its columns should reach past that
        outline on each side.
    mean_mm, p95_mm : float [mm]
        How far the settled edge of this plan lies from the drawn one, over all edges of areas that
        are filled or satin: the mean, and what 95 % of the edge does not exceed.
    """

    outlines: Mapping[int, shapely.Polygon]
    widen_mm: Mapping[int, float]
    mean_mm: float
    p95_mm: float


def aim_outlines(
    plan: StitchPlan,
    *,
    drawn: RegionMap,
    setup: Setup,
    outlines: Mapping[int, shapely.Polygon] = MappingProxyType({}),
) -> TrueShape:
    """Return the next outlines, and how well this plan meets the drawing.

    Parameters
    ----------
    plan : StitchPlan
    drawn : RegionMap
    setup : Setup
    outlines : mapping of int to shapely.Polygon [mm]
        What the plan was made to; none for planning's own widening.

    Notes
    -----
    outline := drawn − (settled − needle), taken along the edge's normal: the fixed point of
    "settled = drawn" (Banach's; the draw changes little with a shift of tenths of a millimetre).
    """
    settled = settle_cloth(plan, setup, lay_thread(plan))
    if not settled.is_linear:
        return TrueShape({}, {}, 0.0, 0.0)
    edges = moved_edges(plan, drawn, settled, outlines)
    kind = {t.region_id: t.stitch_type for t in plan.treatments}
    aimed: dict[int, shapely.Polygon] = {}
    widen: dict[int, float] = {}
    misses: list[NDArray[np.float64]] = []
    for area_id, edge in sorted(edges.items()):
        if kind.get(area_id, StitchType.RUNNING) is StitchType.RUNNING:
            continue
        drawn_in = (edge.moved * edge.normal).sum(axis=1)
        misses.append(np.abs(drawn_in + (edge.widened * edge.normal).sum(axis=1)))
        if kind[area_id] is StitchType.FILL:
            aimed[area_id] = _outline(edge, -drawn_in)
        else:
            carried = _even_field(edge)
            rest = edge.moved - carried(edge.at)
            widen[area_id] = round(max(0.0, float(-np.median((rest * edge.normal).sum(axis=1)))), 3)
            if drawn.region(area_id).letter is None:
                polygon = drawn.region(area_id).polygon
                aimed[area_id] = _taken_back(polygon, carried)
    every = np.concatenate(misses) if misses else np.zeros(1)
    return TrueShape(
        MappingProxyType(aimed),
        MappingProxyType(widen),
        float(every.mean()),
        float(np.percentile(every, 95.0)),
    )


def _taken_back(polygon: shapely.Polygon, carried: Field) -> shapely.Polygon:
    return shapely.transform(polygon, lambda xy: xy - carried(xy))


def _even_field(edge: MovedEdge) -> Field:
    """Return the even (affine) part of how an edge moves, as a function of the place.

    Taken back, it leaves straight edges straight and even columns even.
    """
    middle = edge.at.mean(axis=0)

    def terms(places: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([np.ones(len(places)), places - middle])

    table = np.linalg.lstsq(terms(edge.at), edge.moved, rcond=None)[0]
    return lambda places: np.asarray(terms(places) @ table, dtype=np.float64)


def _outline(edge: MovedEdge, out_mm: NDArray[np.float64]) -> shapely.Polygon:
    """Return the drawn edge set out along its normals, evened a little, as a sound polygon."""
    rings = []
    for k in range(int(edge.ring.max()) + 1):
        own = edge.ring == k
        even = _evened(np.clip(out_mm[own][:-1], -FARTHEST_MM, FARTHEST_MM))
        at = edge.at[own][:-1] + edge.normal[own][:-1] * even[:, None]
        rings.append(np.vstack([at, at[:1]]))
    drawn = shapely.Polygon(edge.at[edge.ring == 0])
    polygon = shapely.Polygon(rings[0], rings[1:])
    sound = shapely.get_parts(shapely.make_valid(polygon))
    parts = [p for p in sound if isinstance(p, shapely.Polygon) and p.area > drawn.area / 2]
    if not parts:
        return shapely.Polygon(edge.at[edge.ring == 0],
                               [edge.at[edge.ring == k] for k in range(1, len(rings))])  # fmt: skip
    tidy = shapely.simplify(max(parts, key=lambda p: p.area), TIDY_MM)
    return tidy if isinstance(tidy, shapely.Polygon) else max(parts, key=lambda p: p.area)


def _evened(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a ring's values averaged over their neighbours."""
    if len(values) <= 2 * EVENED:
        return np.full_like(values, values.mean() if len(values) else 0.0)
    shifted = [np.roll(values, k) for k in range(-EVENED, EVENED + 1)]
    even: NDArray[np.float64] = np.mean(shifted, axis=0)
    return even
