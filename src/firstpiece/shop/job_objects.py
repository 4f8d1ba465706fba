"""A job and a ladder as plain objects, for ``--json`` and for the files of a job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from firstpiece.files.result_json import (
    figure_object,
    findings_list,
    forecast_object,
    plan_object,
    questions_object,
    quote_object,
)

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from firstpiece.shop.ladder import Ladder
    from firstpiece.shop.prepare import Prepared
    from firstpiece.shop.true_shape import ShapeAim

Object = dict[str, Any]


def job_object(prepared: Prepared, files: Iterable[Path] = ()) -> Object:
    """Return a prepared job; findings of every stage stand together, worst first."""
    plan = plan_object(prepared.plan)
    forecast = forecast_object(prepared.forecast)
    del plan["findings"], forecast["findings"]
    width, height = prepared.size_mm
    return {
        "name": prepared.artwork.name,
        "garment": prepared.setup.garment.name,
        "width_mm": round(width, 2),
        "height_mm": round(height, 2),
        "blocks_sewing": prepared.blocks_sewing,
        "plan": plan,
        "forecast": {**forecast, "blocks_sewing": prepared.blocks_sewing},
        "true_shape": aim_object(prepared.aim),
        "quote": quote_object(prepared.quote),
        "findings": findings_list(prepared.findings),
        **questions_object(prepared.questions),
        "files": [str(path) for path in files],
    }


def aim_object(aim: ShapeAim | None) -> Object | None:
    """Return how far settled edges lie from the drawing, before and after each round [mm]."""
    if aim is None:
        return None
    return {
        "outlines": len(aim.outlines),
        "missed_mm": [[round(v, 3) for v in pair] for pair in aim.missed_mm],
    }


def ladder_object(ladder: Ladder, files: Iterable[Path] = ()) -> Object:
    """Return a price ladder."""
    return {
        "name": ladder.name,
        "garment": ladder.garment.name,
        "quantities": list(ladder.quantities),
        "rungs": [
            {
                "height_mm": round(rung.height_mm, 2),
                "width_mm": round(rung.width_mm, 2),
                "n_stitches": rung.n_stitches,
                "n_color_changes": rung.n_color_changes,
                "minutes": figure_object(rung.minutes),
                "hoop": rung.hoop,
                "n_blocking": rung.n_blocking,
                "findings": findings_list(rung.findings),
                "quotes": [quote_object(q) for q in rung.quotes],
            }
            for rung in ladder.rungs
        ],
        "files": [str(path) for path in files],
    }
