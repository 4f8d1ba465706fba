"""Plan and set-up in, forecast out: what the sewn piece will be like, with how sure each figure is.

Cover comes from the true stitch geometry at the card's thread width and at both ends of its range;
time and thread from the plan's counts. Cover is counted before the cloth draws in, shapes and gaps
after it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.forecasting.area_shape import edge_gaps, moved_edges, settled_areas
from firstpiece.forecasting.cover_again import MeasuredAgain, measure_covers
from firstpiece.forecasting.cover_map import (
    area_boxes,
    choose_grid,
    label_polygons,
    printed_maps,
)
from firstpiece.forecasting.drape import rank_drape
from firstpiece.forecasting.evidence import Evidence
from firstpiece.forecasting.findings_cover import (
    cloth_shows,
    cover_unsure,
    uncovered_spots,
    unsewn_areas,
)
from firstpiece.forecasting.findings_pull import opening_gaps, ovals, too_soft
from firstpiece.forecasting.findings_setup import (
    hoop_size,
    low_contrast,
    needs_topping,
    thread_changes,
)
from firstpiece.forecasting.findings_shape import (
    long_satin,
    narrow_gaps,
    overlong_stitches,
    thin_details,
)
from firstpiece.forecasting.findings_thread import (
    crowded_holes,
    felt_lumps,
    perforated_edges,
    stiff_patches,
)
from firstpiece.forecasting.group_findings import group_findings
from firstpiece.forecasting.height_map import height_maps
from firstpiece.forecasting.hole_lines import hole_lines
from firstpiece.forecasting.laid_thread import lay_thread, section_widths_mm, thread_section
from firstpiece.forecasting.lumps import find_lumps
from firstpiece.forecasting.needle_holes import holes_per_mm2
from firstpiece.forecasting.pucker import rank_pucker
from firstpiece.forecasting.region_figures import MeasuredCover, map_colors, region_forecasts
from firstpiece.forecasting.seen_cover import view_cover
from firstpiece.forecasting.settle import settle_cloth
from firstpiece.forecasting.sewing_time import forecast_minutes
from firstpiece.forecasting.show_through import linear_rgb
from firstpiece.forecasting.thread_use import forecast_thread
from firstpiece.model.forecast import Forecast
from firstpiece.model.frozen import content_hash
from firstpiece.model.memo import Memo
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from firstpiece.forecasting.laid_thread import LaidThread
    from firstpiece.forecasting.settle import Settled
    from firstpiece.kernels.coverage import Grid
    from firstpiece.model.finding import Finding
    from firstpiece.model.forecast import DrapeRank, EdgeGap, RegionForecast, SettledArea
    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

NO_OUTLINES: Mapping[int, shapely.Polygon] = {}

FINDERS: tuple[Callable[[Evidence], list[Finding]], ...] = (
    hoop_size,
    overlong_stitches,
    unsewn_areas,
    cloth_shows,
    cover_unsure,
    uncovered_spots,
    thin_details,
    narrow_gaps,
    long_satin,
    too_soft,
    opening_gaps,
    ovals,
    felt_lumps,
    crowded_holes,
    perforated_edges,
    stiff_patches,
    low_contrast,
    needs_topping,
    thread_changes,
)


def forecast_sewout(
    plan: StitchPlan,
    *,
    region_map: RegionMap,
    setup: Setup,
    outlines: Mapping[int, shapely.Polygon] = NO_OUTLINES,
    memo: Memo | None = None,
) -> Forecast:
    """Return the forecast of one piece.

    Parameters
    ----------
    plan : StitchPlan
        Stitches; its region ids are those of ``region_map``.
    region_map : RegionMap
        The areas the stitches should cover.
    setup : Setup
        Garment colour, cloth, backing, thread and machine.
    outlines : mapping of int to shapely.Polygon [mm]
        The shapes the plan was made to, by area id, where they are not the drawn ones.
    memo : Memo or None
        Of earlier forecasts: where an edit changed nothing, their work is used again. The answer
        is the same with it and without.

    Returns
    -------
    Forecast
        Findings of tracing, planning and forecasting together, each code once, worst first.

    Notes
    -----
    Nothing here has been held against sewn cloth: figures that rest on card guesses carry the
    band of the cards' ranges and are marked as default until a swatch calibrates the card.
    """
    evidence, printed = _gather(plan, region_map, setup, outlines, memo or Memo())
    findings = [*region_map.findings, *plan.findings]
    for find in FINDERS:
        findings += find(evidence)
    use, bobbin = forecast_thread(plan, setup)
    grid, block = printed
    layers, cover = printed_maps(evidence.cover.layers, grid, block)
    front, back = height_maps(plan, evidence.laid, setup)
    return Forecast(
        regions=evidence.regions,
        lumps=evidence.lumps,
        thread_use=use,
        bobbin_m=bobbin,
        sewing_minutes=forecast_minutes(plan, setup.machine),
        n_stitches=plan.n_stitches,
        n_trims=plan.count(Action.TRIM),
        n_color_changes=plan.count(Action.COLOR_CHANGE),
        layers=layers,
        cover=cover,
        findings=group_findings(findings),
        color_shift=evidence.seen.shift,
        settled_mm=evidence.settled.points_mm if evidence.settled.is_linear else None,
        settled_areas=evidence.settled_areas,
        gaps=evidence.gaps,
        pucker=rank_pucker(evidence.settled, setup) if evidence.settled.is_linear else (),
        drape=evidence.drape,
        holes=evidence.lines,
        height_front=front,
        height_back=back,
    )


def _gather(
    plan: StitchPlan,
    region_map: RegionMap,
    setup: Setup,
    outlines: Mapping[int, shapely.Polygon],
    memo: Memo,
) -> tuple[Evidence, tuple[Grid, int]]:
    grid, block = choose_grid(_bounds(plan, region_map))
    laid = lay_thread(plan)
    flattening = setup.thread.flattening
    # Cover is counted where the needle goes, so against the shapes it was put to.
    polygons = [outlines.get(r.id, r.polygon) for r in region_map.regions]
    labels, measured_all = _covers(plan, polygons, setup, (grid, laid), memo)
    covers = {ratio: cover.areas for ratio, cover in measured_all.covers.items()}
    middle = measured_all.covers[flattening.value]
    holes = holes_per_mm2(plan)
    measured = MeasuredCover(region_map, setup, covers)
    cloth = linear_rgb(setup.garment.rgb)
    seen = view_cover(labels, middle.layers, map_colors(measured), cloth, grid)
    regions = region_forecasts(plan, measured, seen, holes, memo)
    sections = tuple(thread_section(setup.thread, t.tex, flattening.value) for t in plan.threads)
    settled = settle_cloth(plan, setup, laid)
    shapes = _shapes(plan, region_map, setup, settled, outlines)
    evidence = Evidence(
        plan=plan,
        region_map=region_map,
        setup=setup,
        grid=grid,
        labels=labels,
        cover=middle,
        laid=laid,
        sections=sections,
        holes=holes,
        regions=regions,
        seen=seen,
        settled=settled,
        settled_areas=shapes[0],
        gaps=shapes[1],
        drape=_drape(measured, regions),
        lines=hole_lines(plan, setup.needle, memo),
        lumps=find_lumps(plan, setup),
        memo=memo,
        areas_key=measured_all.areas_key,
        is_set_out=bool(outlines),
    )
    return evidence, (grid, block)


def _covers(
    plan: StitchPlan,
    polygons: list[shapely.Polygon],
    setup: Setup,
    on: tuple[Grid, LaidThread],
    memo: Memo,
) -> tuple[NDArray[np.int32], MeasuredAgain]:
    """Return the label raster and the cover at the thread card's three widths."""
    grid, laid = on
    key = content_hash(polygons)
    labels = memo.recall_one("labels", (key, grid), lambda: label_polygons(polygons, grid))
    card = setup.thread.flattening
    halves = {
        ratio: laid.half_widths_mm(section_widths_mm(plan, setup.thread, ratio))
        for ratio in (card.low, card.high, card.value)
    }
    now = MeasuredAgain(key, grid, area_boxes(polygons, grid), laid, halves, {})
    before = memo.latest("covers")
    found = measure_covers(labels, now, before if isinstance(before, MeasuredAgain) else None)
    memo.keep_only("covers", found)
    return labels, found


def _shapes(
    plan: StitchPlan,
    region_map: RegionMap,
    setup: Setup,
    settled: Settled,
    outlines: Mapping[int, shapely.Polygon],
) -> tuple[tuple[SettledArea, ...], tuple[EdgeGap, ...]]:
    """Return settled areas and gaps; neither where the cloth gives way too far for the model."""
    if not settled.is_linear:
        return (), ()
    edges = moved_edges(plan, region_map, settled, outlines)
    areas = settled_areas(plan, region_map, setup, settled, edges)
    return areas, edge_gaps(edges, setup)


def _drape(measured: MeasuredCover, regions: tuple[RegionForecast, ...]) -> tuple[DrapeRank, ...]:
    region_map, card = measured.region_map, measured.setup.thread
    middle = measured.by_flattening[card.flattening.value]
    counts = [
        sum(n * share for n, share in enumerate(area.shares))
        for area, region in zip(middle, region_map.regions, strict=True)
        if not region.is_bare
    ]
    tex = [region_map.thread_of(r).tex for r in region_map.sewn_regions]
    sections = [thread_section(card, t, card.flattening.value) for t in tex]
    return rank_drape(regions, counts, sections, tex, measured.setup)


def _bounds(plan: StitchPlan, region_map: RegionMap) -> tuple[float, float, float, float]:
    corners = [np.asarray(shapely.total_bounds([r.polygon for r in region_map.regions]))]
    points = plan.xy_mm[plan.is_stitch]
    if len(points):
        corners.append(np.concatenate([points.min(axis=0), points.max(axis=0)]))
    stacked = np.stack(corners)
    if not np.isfinite(stacked).all():
        stacked = np.zeros((1, 4))
    x0, y0 = stacked[:, :2].min(axis=0)
    x1, y1 = stacked[:, 2:].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)
