"""The shape of each area after sewing, and the gaps that open between neighbours.

Input: a settled plan and the cleaned design. Output: outlines, how far rows are drawn in, gaps
along common edges; every size with the band of what is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from firstpiece.forecasting.laid_thread import lay_thread
from firstpiece.forecasting.pull_band import scaled_figure
from firstpiece.model.forecast import EdgeGap, SettledArea

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.forecasting.settle import Settled
    from firstpiece.model.material import Setup
    from firstpiece.model.measured import Figure
    from firstpiece.model.region import Region, RegionMap
    from firstpiece.model.stitch import StitchPlan

EDGE_STEP_MM = 0.8
NEAREST = 4
# Two samples this near lie on one common edge; a gap is the mean over this reach along it.
SAME_PLACE_MM, ALONG_MM = 0.05, 1.5
FEWEST_SAMPLES = 3
STEP_SHARE = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class MovedEdge:
    """The edge of one area at samples.

    Parameters
    ----------
    at : (k, 2) float64 [mm]
        Drawn places, ring after ring.
    moved : (k, 2) float64 [mm]
        How far the cloth carries the stitches there.
    widened : (k, 2) float64 [mm]
        How far planning set them out beforehand.
    normal : (k, 2) float64
        Outward.
    ring : (k,) int64
    """

    at: NDArray[np.float64]
    moved: NDArray[np.float64]
    widened: NDArray[np.float64]
    normal: NDArray[np.float64]
    ring: NDArray[np.int64]


def moved_edges(
    plan: StitchPlan,
    region_map: RegionMap,
    settled: Settled,
    outlines: Mapping[int, shapely.Polygon] | None = None,
) -> dict[int, MovedEdge]:
    """Return the edges of all sewn areas that have stitches, by area id.

    ``outlines`` are the shapes that the needle was put to, where they are not the drawn ones.
    """
    set_out = outlines or {}
    shift = settled.points_mm - plan.xy_mm
    pull = {
        t.region_id: t.pull_mm if t.widened_mm is None else t.widened_mm for t in plan.treatments
    }
    rows, laid = settled.rows, lay_thread(plan)
    # Steps from one row to the next say nothing about which way the rows pull.
    is_row = (rows.length_mm > STEP_SHARE * rows.spacing_mm)[rows.of_piece]
    ends = np.concatenate([laid.row[is_row] - 1, laid.row[is_row]])
    angle = np.tile(rows.angle_rad[rows.of_piece[is_row]], 2)
    region = np.tile(plan.region_id[laid.row[is_row]], 2)
    edges = {}
    for area in region_map.sewn_regions:
        own = region == area.id
        if np.count_nonzero(own) < NEAREST:
            continue
        stitches = (plan.xy_mm[ends[own]], shift[ends[own]], angle[own])
        edge = _move_edge(area, stitches, pull.get(area.id, 0.0))
        if area.id in set_out:
            edge = replace(edge, widened=edge.widened + _set_out(edge, set_out[area.id]))
        edges[area.id] = edge
    return edges


def _move_edge(
    area: Region,
    stitches: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    pull_mm: float,
) -> MovedEdge:
    points, shift, angle = stitches
    rings = shapely.get_rings(shapely.orient_polygons(area.polygon))
    dense = shapely.segmentize(rings, EDGE_STEP_MM)
    at, ring = shapely.get_coordinates(dense, return_index=True)
    near = np.asarray(cKDTree(points).query(at, k=NEAREST)[1], dtype=np.int64)
    moved = shift[near].mean(axis=1)
    along = np.column_stack([np.cos(angle[near[:, 0]]), np.sin(angle[near[:, 0]])])
    normal = np.concatenate([_normals(at[ring == k]) for k in range(len(rings))])
    facing = (along * normal).sum(axis=1)
    widened = along * (pull_mm * facing)[:, None]
    return MovedEdge(at, moved, widened, normal, ring.astype(np.int64))


def _set_out(edge: MovedEdge, outline: shapely.Polygon) -> NDArray[np.float64]:
    """Return how far an outline lies outside the drawn edge, along its normal (inside: below 0)."""
    places = shapely.points(edge.at)
    away = shapely.distance(places, outline.boundary)
    inside = shapely.contains(outline, places)
    out: NDArray[np.float64] = edge.normal * np.where(inside, away, -away)[:, None]
    return out


def _normals(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return unit normals to the right of a closed ring: outward where the area lies left."""
    open_ring = points[:-1]
    ahead = np.roll(open_ring, -1, axis=0) - np.roll(open_ring, 1, axis=0)
    length = np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-9)
    right = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / length[:, None]
    return np.concatenate([right, right[:1]])


def settled_areas(
    plan: StitchPlan,
    region_map: RegionMap,
    setup: Setup,
    settled: Settled,
    edges: dict[int, MovedEdge],
) -> tuple[SettledArea, ...]:
    """Return the shape of each sewn area off the hoop."""
    rows = settled.rows
    chord = settled.points_mm[rows.last_row] - settled.points_mm[rows.first_row]
    planned = np.hypot(*(rows.end - rows.start).T)
    drawn_in = planned - np.hypot(chord[:, 0], chord[:, 1])
    found = []
    for area in region_map.sewn_regions:
        if area.id not in edges:
            continue
        edge = edges[area.id]
        own = (rows.region_id == area.id) & (rows.length_mm > 0.5)
        mean = float(np.average(drawn_in[own], weights=planned[own])) if own.any() else 0.0
        outline = _rebuilt(edge)
        angle = _main_angle(plan, area.id)
        before, after = _extent(edge.at, angle), _extent(shapely.get_coordinates(outline), angle)
        found.append(
            SettledArea(
                region_id=area.id,
                outline=outline,
                drawn_in=scaled_figure(mean, setup),
                along_mm=after[0] - before[0],
                across_mm=after[1] - before[1],
            )
        )
    return tuple(found)


def _main_angle(plan: StitchPlan, region_id: int) -> float:
    return next((t.angle_rad for t in plan.treatments if t.region_id == region_id), 0.0)


def _rebuilt(edge: MovedEdge) -> shapely.Polygon:
    """Return the moved edge as a polygon; a twist made by the move is mended."""
    points = edge.at + edge.moved + edge.widened
    rings = [points[edge.ring == k] for k in range(int(edge.ring.max()) + 1)]
    polygon = shapely.Polygon(rings[0], rings[1:])
    if polygon.is_valid:
        return polygon
    mended = shapely.make_valid(polygon)
    parts = [p for p in shapely.get_parts(mended) if p.geom_type == "Polygon"]
    return max(parts, key=lambda p: p.area) if parts else shapely.Polygon(edge.at)


def _extent(xy: NDArray[np.float64], angle: float) -> tuple[float, float]:
    """Return the extent along a direction and across it."""
    c, s = np.cos(angle), np.sin(angle)
    return float(np.ptp(xy @ [c, s])), float(np.ptp(xy @ [-s, c]))


def edge_gaps(edges: dict[int, MovedEdge], setup: Setup) -> tuple[EdgeGap, ...]:
    """Return the widest opening along each common edge, widest first; closed edges are left out."""
    ids = list(edges)
    at = np.concatenate([edges[i].at for i in ids]) if ids else np.zeros((0, 2))
    owner = np.repeat(np.arange(len(ids)), [len(edges[i].at) for i in ids])
    pairs = cKDTree(at).query_pairs(SAME_PLACE_MM, output_type="ndarray") if len(at) else at
    if not len(pairs):
        return ()
    pairs = np.sort(pairs.astype(np.int64), axis=1)
    pairs = pairs[owner[pairs[:, 0]] != owner[pairs[:, 1]]]
    moved, widened, normal = (
        np.concatenate([getattr(edges[i], name) for i in ids])
        for name in ("moved", "widened", "normal")
    )
    first, second = pairs.T
    # How far the second area's edge goes from the first's, along the first's outward normal.
    opening = ((moved[second] - moved[first]) * normal[first]).sum(axis=1)
    lapped = ((widened[first] - widened[second]) * normal[first]).sum(axis=1)
    key = owner[first] * len(ids) + owner[second]
    gaps = []
    for code in np.unique(key):
        own = key == code
        gap = _widest(at[first[own]], opening[own], lapped[own], setup)
        if gap is not None:
            one, other = ids[int(code) // len(ids)], ids[int(code) % len(ids)]
            gaps.append(EdgeGap(one, other, *gap))
    return tuple(sorted(gaps, key=lambda g: (-g.width.band.p50, g.first_id, g.second_id)))


def _widest(
    at: NDArray[np.float64],
    opening: NDArray[np.float64],
    lapped: NDArray[np.float64],
    setup: Setup,
) -> tuple[tuple[float, float], Figure] | None:
    if len(at) < FEWEST_SAMPLES:
        return None
    near = cKDTree(at).query_ball_point(at, ALONG_MM)
    mean_open, mean_lap = (
        np.array([values[n].mean() for n in near]) for values in (opening, lapped)
    )
    worst = int(np.argmax(mean_open - mean_lap))
    if mean_open[worst] - mean_lap[worst] <= 0.0:
        return None
    width = scaled_figure(float(mean_open[worst]), setup, less=float(mean_lap[worst]))
    return (round(float(at[worst, 0]), 2), round(float(at[worst, 1]), 2)), width
