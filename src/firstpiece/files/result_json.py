"""Results as versioned JSON: ``{"version": 1, "kind": …}`` with units spelled out in the names.

A forecast figure carries its band and how sure it is; a finding its pin and its remedies. Money is
a decimal text with its currency, never a binary fraction.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from firstpiece.model.finding import Finding, rank_findings
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from collections.abc import Iterable

    from moneyed import Money

    from firstpiece.model.forecast import Forecast, RegionForecast, SettledArea
    from firstpiece.model.measured import Figure
    from firstpiece.model.question import Question, Questions
    from firstpiece.model.quote import Quote
    from firstpiece.model.stitch import StitchPlan, Treatment

VERSION = 1

Object = dict[str, Any]


def write_json(kind: str, content: Object) -> str:
    """Return one versioned object as text."""
    answer = {"version": VERSION, "kind": kind, **content}
    return json.dumps(answer, ensure_ascii=False, indent=1) + "\n"


def write_plan_json(plan: StitchPlan) -> str:
    """Return what planning decided: counts, threads, and every area's treatment with its reason."""
    return write_json("plan", plan_object(plan))


def write_forecast_json(forecast: Forecast) -> str:
    """Return the forecast: figures with bands, areas, lumps and findings, worst first."""
    return write_json("forecast", forecast_object(forecast))


def write_quote_json(quotes: Iterable[Quote]) -> str:
    """Return the price of each number of pieces."""
    return write_json("quote", {"quotes": [quote_object(q) for q in quotes]})


def plan_object(plan: StitchPlan) -> Object:
    """Return a plan's contents."""
    width, height = plan.size_mm
    return {
        "plan_id": plan.content_id(),
        "width_mm": round(width, 2),
        "height_mm": round(height, 2),
        "n_stitches": plan.n_stitches,
        "n_trims": plan.count(Action.TRIM),
        "n_color_changes": plan.count(Action.COLOR_CHANGE),
        "fewest_color_changes": plan.fewest_changes,
        "order_explanation": plan.order_explanation,
        "threads": [{"name": t.name, "hex": t.hex, "tex": t.tex} for t in plan.threads],
        "treatments": [_treatment(t) for t in plan.treatments],
        "findings": findings_list(plan.findings),
    }


def forecast_object(forecast: Forecast) -> Object:
    """Return a forecast's contents; the map of layers is drawn, not listed."""
    return {
        "n_stitches": forecast.n_stitches,
        "n_trims": forecast.n_trims,
        "n_color_changes": forecast.n_color_changes,
        "blocks_sewing": forecast.blocks_sewing,
        "sewing_minutes": figure_object(forecast.sewing_minutes),
        "thread_use": [
            {"thread": use.thread_index, "top": figure_object(use.top_m)}
            for use in forecast.thread_use
        ],
        "bobbin": figure_object(forecast.bobbin_m),
        "regions": [_region_forecast(r) for r in forecast.regions],
        "lumps": [
            {
                "x_mm": round(lump.x_mm, 2),
                "y_mm": round(lump.y_mm, 2),
                "n_ties": lump.n_ties,
                "height": figure_object(lump.height),
            }
            for lump in forecast.lumps
        ],
        "settled_areas": [_settled_area(a) for a in forecast.settled_areas],
        "gaps": [
            {
                "areas": [gap.first_id, gap.second_id],
                "where_mm": [round(v, 2) for v in gap.where_mm],
                "width": figure_object(gap.width),
            }
            for gap in forecast.gaps
        ],
        "pucker": [
            {
                "region_id": rank.region_id,
                "contraction": figure_object(rank.contraction),
                "lowers": [{"action": verb, "left": left} for verb, left in rank.lowers],
            }
            for rank in forecast.pucker
        ],
        "drape": [
            {
                "region_id": rank.region_id,
                "times_stiffer": _short(rank.times_stiffer),
                "stiffer": None if rank.stiffer is None else figure_object(rank.stiffer),
                "bending_length_before_mm": _short(rank.before_mm),
                "bending_length_after_mm": _short(rank.after_mm),
            }
            for rank in forecast.drape
        ],
        "needle_holes": [
            {
                "region_id": line.region_id,
                "nearest_mm": _short(line.nearest_mm),
                "edge_pitch_mm": _short(line.edge_pitch_mm),
            }
            for line in forecast.holes
        ],
        "findings": findings_list(forecast.findings),
    }


def _settled_area(area: SettledArea) -> Object:
    return {
        "region_id": area.region_id,
        "drawn_in": figure_object(area.drawn_in),
        "along_mm": _short(area.along_mm),
        "across_mm": _short(area.across_mm),
    }


def quote_object(quote: Quote) -> Object:
    """Return a quote's contents."""
    return {
        "height_mm": round(quote.height_mm, 2),
        "width_mm": round(quote.width_mm, 2),
        "quantity": quote.quantity,
        "n_stitches": quote.n_stitches,
        "minutes_each": round(quote.minutes_each, 2),
        "each": money_object(quote.each),
        "net": money_object(quote.net),
        "tax": money_object(quote.tax),
        "total": money_object(quote.total),
        "cost": money_object(quote.cost),
        "margin": float(round(quote.margin, 4)),
        "free_pieces": quote.free_pieces,
        "free_cost": None if quote.free_cost is None else money_object(quote.free_cost),
        "deposit": None if quote.deposit is None else money_object(quote.deposit),
        "lines": [
            {
                "label": line.label,
                "count": line.count,
                "each": money_object(line.each),
                "amount": money_object(line.amount),
            }
            for line in quote.lines
        ],
    }


def questions_object(questions: Questions) -> Object:
    """Return the open questions and the message that asks them."""
    return {"questions": [_question(q) for q in questions.items], "message": questions.message}


def figure_object(figure: Figure) -> Object:
    """Return a figure with its 5, 50 and 95 % points."""
    band = figure.band
    return {
        "p05": _short(band.p05),
        "p50": _short(band.p50),
        "p95": _short(band.p95),
        "unit": figure.unit,
        "certainty": str(figure.certainty),
        "basis": figure.basis,
    }


def findings_list(findings: Iterable[Finding]) -> list[Object]:
    """Return findings worst first; ``pin`` is the number drawn on proof and run sheet."""
    return [_finding(f, pin) for pin, f in enumerate(rank_findings(tuple(findings)), start=1)]


def money_object(money: Money) -> Object:
    """Return money as decimal text and ISO 4217 code."""
    return {"amount": str(money.amount), "currency": str(money.currency)}


def _finding(finding: Finding, pin: int) -> Object:
    where = finding.where_mm
    return {
        "pin": pin,
        "code": finding.code,
        "severity": finding.severity.name.lower(),
        "reason": finding.reason,
        "where_mm": None if where is None else [round(v, 2) for v in where],
        "measured": _short(finding.measured),
        "limit": _short(finding.limit),
        "unit": finding.unit,
        "region_id": finding.region_id,
        "remedies": [
            {"label": r.label, "action": r.action, "region_id": r.region_id, "value": r.value}
            for r in finding.remedies
        ],
    }


def _treatment(treatment: Treatment) -> Object:
    return {
        "region_id": treatment.region_id,
        "stitch_type": str(treatment.stitch_type),
        "angle_rad": _short(treatment.angle_rad),
        "spacing_mm": _short(treatment.spacing_mm),
        "stitch_length_mm": _short(treatment.stitch_length_mm),
        "underlay": [str(u) for u in treatment.underlay],
        "pull_mm": _short(treatment.pull_mm),
        "thread": treatment.thread_index,
        "sewn_order": treatment.sewn_order,
        "n_stitches": treatment.n_stitches,
        "reason": treatment.reason,
        "explanation": treatment.explanation,
    }


def _region_forecast(region: RegionForecast) -> Object:
    return {
        "region_id": region.region_id,
        "cover": _short(region.cover),
        "cover_range": None if region.cover_range is None else figure_object(region.cover_range),
        "show_through": figure_object(region.show_through),
        "bare_mm2": _short(region.bare_mm2),
        "widest_gap_mm": _short(region.widest_gap_mm),
        "penetrations_mm2": _short(region.penetrations_mm2),
        "seen_from": [
            {"distance_mm": v.distance_mm, "mean": _short(v.mean), "p95": _short(v.p95)}
            for v in region.views
        ],
    }


def _question(question: Question) -> Object:
    height = question.sewable_height_mm
    return {
        "code": question.code,
        "letter": question.letter,
        "text": question.text,
        "region_ids": list(question.region_ids),
        "where_mm": [round(v, 2) for v in question.where_mm],
        "choices": [
            {"label": c.label, "effect": c.effect, "value": c.value} for c in question.choices
        ],
        "sewable_height_mm": _short(height),
    }


def _short(value: float | None) -> float | None:
    """Round to a tenth of a thousandth: enough for every unit used here, and easy to read."""
    return None if value is None else round(float(value), 4)
