"""Everything the forecast says of a job, area by area and for the whole order, in one value.

Input: a prepared job and a number of pieces. Output: tables of figures with their bands, and the
same as plain objects; the wording of a cell is the face's.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.files.result_json import figure_object
from firstpiece.forecasting.colourways import neighbour_contrasts, read_threads
from firstpiece.forecasting.order_time import order_time
from firstpiece.forecasting.supply_use import supply_use
from firstpiece.shop.swatch_advice import advise_swatches

if TYPE_CHECKING:
    from firstpiece.forecasting.colourways import ColorReading, NeighbourContrast
    from firstpiece.forecasting.order_time import OrderTime
    from firstpiece.forecasting.supply_use import SupplyUse
    from firstpiece.model.forecast import (
        DrapeRank,
        EdgeGap,
        HoleLine,
        PuckerRank,
        RegionForecast,
        SettledArea,
    )
    from firstpiece.model.material import ThreadColor
    from firstpiece.model.stitch import Treatment
    from firstpiece.shop.prepare import Prepared
    from firstpiece.shop.swatch_advice import SwatchAdvice


@dataclass(frozen=True, slots=True, eq=False)
class AreaLine:
    """One area's figures; a part that the model cannot bear is None."""

    region_id: int
    thread: ThreadColor
    treatment: Treatment | None
    look: RegionForecast
    reading: ColorReading
    settled: SettledArea | None
    pucker: PuckerRank | None
    drape: DrapeRank | None
    holes: HoleLine | None


@dataclass(frozen=True, slots=True, eq=False)
class ForecastReport:
    """The forecast as tables, areas in the order in which they are sewn."""

    areas: tuple[AreaLine, ...]
    gaps: tuple[EdgeGap, ...]
    neighbours: tuple[NeighbourContrast, ...]
    quantity: int
    order: OrderTime
    supplies: SupplyUse
    swatches: tuple[SwatchAdvice, ...]


def report_on(prepared: Prepared, *, quantity: int = 0) -> ForecastReport:
    """Return the forecast's tables for a number of pieces (0: as many as were quoted)."""
    pieces = quantity or prepared.quote.quantity
    forecast, card = prepared.forecast, prepared.card
    order = order_time(
        forecast.sewing_minutes,
        quantity=pieces,
        machine=prepared.setup.machine,
        hooping_min=float(card.hooping_minutes),
        finishing_min=float(card.finishing_minutes),
    )
    return ForecastReport(
        areas=_areas(prepared),
        gaps=forecast.gaps,
        neighbours=neighbour_contrasts(prepared.region_map, prepared.setup.garment.rgb),
        quantity=pieces,
        order=order,
        supplies=supply_use(forecast, prepared.plan, prepared.setup, quantity=pieces),
        swatches=advise_swatches(prepared),
    )


def _areas(prepared: Prepared) -> tuple[AreaLine, ...]:
    forecast, design = prepared.forecast, prepared.region_map
    treatments = {t.region_id: t for t in prepared.plan.treatments}
    readings = {
        thread: read_threads([thread], prepared.setup.garment.rgb)[0]
        for thread in (design.thread_of(r) for r in design.sewn_regions)
    }
    settled = {entry.region_id: entry for entry in forecast.settled_areas}
    pucker = {entry.region_id: entry for entry in forecast.pucker}
    drape = {entry.region_id: entry for entry in forecast.drape}
    holes = {entry.region_id: entry for entry in forecast.holes}
    lines = []
    for look in forecast.regions:
        key = look.region_id
        thread = design.thread_of(design.region(key))
        lines.append(
            AreaLine(
                region_id=key,
                thread=thread,
                treatment=treatments.get(key),
                look=look,
                reading=readings[thread],
                settled=settled.get(key),
                pucker=pucker.get(key),
                drape=drape.get(key),
                holes=holes.get(key),
            )
        )
    last = len(lines)
    return tuple(
        sorted(lines, key=lambda a: (a.treatment.sewn_order if a.treatment else last, a.region_id))
    )


def area_name(line: AreaLine) -> str:
    """Return what a person calls an area: its thread and how it is sewn."""
    if line.treatment is None:
        return _("{thread}, not sewn").format(thread=line.thread.name)
    return _("{thread}, {kind}").format(thread=line.thread.name, kind=line.treatment.stitch_type)


def report_object(report: ForecastReport) -> dict[str, Any]:
    """Return a report as a plain object."""
    return {
        "areas": [_area_object(line) for line in report.areas],
        "gaps": [
            {"areas": [g.first_id, g.second_id], "where_mm": list(g.where_mm),
             "width": figure_object(g.width)}
            for g in report.gaps
        ],
        "neighbours": [
            {"areas": [n.first_id, n.second_id], "shared_mm": round(n.shared_mm, 1),
             "difference": round(n.difference, 1), "contrast": round(n.contrast, 2)}
            for n in report.neighbours
        ],
        "order": {
            "quantity": report.quantity,
            "rounds": report.order.rounds,
            "machine": figure_object(report.order.machine),
            "total": figure_object(report.order.total),
            "waits_for_hands": report.order.waits_for_hands,
        },
        "supplies": _supplies_object(report.supplies),
        "swatches": [
            {"name": s.name, "sew": s.sew, "settles": s.settles, "spread": s.spread}
            for s in report.swatches
        ],
    }  # fmt: skip


def _area_object(line: AreaLine) -> dict[str, Any]:
    near, far = (line.look.views[k] if line.look.views else None for k in (0, -1))
    settled, drape, holes = line.settled, line.drape, line.holes
    return {
        "region_id": line.region_id,
        "name": area_name(line),
        "thread": line.thread.name,
        "cover": round(line.look.cover, 4),
        "cover_range": None
        if line.look.cover_range is None
        else figure_object(line.look.cover_range),
        "bare_mm2": round(line.look.bare_mm2, 2),
        "shows_through": figure_object(line.look.show_through),
        "read_close": None if near is None else [round(near.mean, 2), round(near.p95, 2)],
        "from_a_metre": None if far is None else [round(far.mean, 2), round(far.p95, 2)],
        "contrast": round(line.reading.contrast, 2),
        "reads_small": line.reading.reads_small,
        "reads_large": line.reading.reads_large,
        "drawn_in": None if settled is None else figure_object(settled.drawn_in),
        "along_mm": None if settled is None else round(settled.along_mm, 3),
        "across_mm": None if settled is None else round(settled.across_mm, 3),
        "contraction": None if line.pucker is None else figure_object(line.pucker.contraction),
        "lowers": [] if line.pucker is None else [list(p) for p in line.pucker.lowers],
        "times_stiffer": None if drape is None else round(drape.times_stiffer, 2),
        "stiffer": None
        if drape is None or drape.stiffer is None
        else figure_object(drape.stiffer),
        "holes_mm2": line.look.penetrations_mm2,
        "nearest_hole_mm": None if holes is None else round(holes.nearest_mm, 3),
        "cloth_left": None if holes is None or holes.cloth_left is None
        else [round(v, 3) for v in holes.cloth_left],
    }  # fmt: skip


def _supplies_object(use: SupplyUse) -> dict[str, Any]:
    return {
        "threads": [
            {"name": t.thread.name, "metres": figure_object(t.metres),
             "grams": figure_object(t.grams), "cones": figure_object(t.cones)}
            for t in use.threads
        ],
        "bobbin_m": figure_object(use.bobbin_m),
        "bobbin_g": figure_object(use.bobbin_g),
        "backing_g": round(use.backing_g, 1),
    }  # fmt: skip
