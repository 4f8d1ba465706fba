"""The files of a design that was read from stitches: the same names and shapes as any job's."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from firstpiece.files.fonts import read_font_metrics
from firstpiece.files.pdf import write_pdf
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.files.result_json import (
    forecast_object,
    plan_object,
    quote_object,
    write_forecast_json,
    write_plan_json,
    write_quote_json,
)
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.model.paper import PaperJob
from firstpiece.paperwork.stage import draw_papers
from firstpiece.paperwork.template import draw_templates

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from firstpiece.shop.reading_back import ReadBack


def make_read_back_files(done: ReadBack) -> dict[str, bytes]:
    """Return the contents of every file by name."""
    job = PaperJob(
        title=PurePath(done.name).stem or done.name,
        region_map=done.region_map,
        plan=done.plan,
        forecast=done.forecast,
        setup=done.setup,
        metrics=read_font_metrics(),
        quotes=(done.quote,),
    )
    papers = draw_papers(job)
    texts = {
        "stitches.csv": write_stitch_csv(done.plan),
        "threads.json": write_threads_json(done.plan),
        "regions.svg": write_regions_svg(done.region_map),
        "plan.json": write_plan_json(done.plan),
        "forecast.json": write_forecast_json(done.forecast),
        "quote.json": write_quote_json([done.quote]),
    }
    return {
        **{name: text.encode() for name, text in texts.items()},
        "proof.pdf": write_pdf(papers.proof),
        "run-sheet.pdf": write_pdf(papers.run_sheet),
        "template.pdf": write_pdf(draw_templates(job)),
    }


def read_back_object(done: ReadBack, files: Iterable[Path] = ()) -> dict[str, Any]:
    """Return the design as a plain object for ``--json``."""
    width, height = done.size_mm
    return {
        "name": done.name,
        "garment": done.setup.garment.name,
        "width_mm": round(width, 2),
        "height_mm": round(height, 2),
        "plan": plan_object(done.plan),
        "forecast": forecast_object(done.forecast),
        "quote": quote_object(done.quote),
        "files": [str(path) for path in files],
    }
