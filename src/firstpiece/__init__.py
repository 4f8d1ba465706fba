"""Firstpiece: from a customer's rough picture to an agreed, forecast and priced embroidery job.

The names below are loaded when first used, so that ``import firstpiece`` itself costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from firstpiece.briefing.stage import list_questions
    from firstpiece.errors import FirstpieceError
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.files.pdf import write_pdf
    from firstpiece.files.picture import read_artwork, write_png
    from firstpiece.files.region_drawing import write_regions_svg
    from firstpiece.files.stitch_table import (
        read_stitch_csv,
        write_stitch_csv,
        write_threads_json,
    )
    from firstpiece.forecasting.stage import forecast_sewout
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.region import TraceOptions
    from firstpiece.model.stitch import StitchSpec, StitchType
    from firstpiece.paperwork.sewout_picture import draw_sewout
    from firstpiece.paperwork.stage import draw_papers
    from firstpiece.planning.stage import plan_stitches
    from firstpiece.pricing.stage import price_job
    from firstpiece.shop.ask import ask_customer
    from firstpiece.shop.hoopings import gang_design, hoop_design, write_hoopings
    from firstpiece.shop.ladder import price_ladder
    from firstpiece.shop.letter import LetterRequest, letter_text
    from firstpiece.shop.outputs import write_outputs
    from firstpiece.shop.prepare import PrepareRequest, prepare_picture
    from firstpiece.tracing.stage import trace_artwork
    from firstpiece.units import parse_length_mm

__version__ = "0.1.0"

_HOMES = {
    "CardDrawer": "files.material_card",
    "FirstpieceError": "errors",
    "LetterRequest": "shop.letter",
    "PaperJob": "model.paper",
    "PrepareRequest": "shop.prepare",
    "StitchSpec": "model.stitch",
    "StitchType": "model.stitch",
    "TraceOptions": "model.region",
    "ask_customer": "shop.ask",
    "draw_papers": "paperwork.stage",
    "draw_sewout": "paperwork.sewout_picture",
    "forecast_sewout": "forecasting.stage",
    "gang_design": "shop.hoopings",
    "hoop_design": "shop.hoopings",
    "letter_text": "shop.letter",
    "list_questions": "briefing.stage",
    "parse_length_mm": "units",
    "plan_stitches": "planning.stage",
    "prepare_picture": "shop.prepare",
    "price_job": "pricing.stage",
    "price_ladder": "shop.ladder",
    "read_artwork": "files.picture",
    "read_stitch_csv": "files.stitch_table",
    "trace_artwork": "tracing.stage",
    "write_hoopings": "shop.hoopings",
    "write_outputs": "shop.outputs",
    "write_pdf": "files.pdf",
    "write_png": "files.picture",
    "write_regions_svg": "files.region_drawing",
    "write_stitch_csv": "files.stitch_table",
    "write_threads_json": "files.stitch_table",
}

__all__ = [
    "CardDrawer",
    "FirstpieceError",
    "LetterRequest",
    "PaperJob",
    "PrepareRequest",
    "StitchSpec",
    "StitchType",
    "TraceOptions",
    "__version__",
    "ask_customer",
    "draw_papers",
    "draw_sewout",
    "forecast_sewout",
    "gang_design",
    "hoop_design",
    "letter_text",
    "list_questions",
    "parse_length_mm",
    "plan_stitches",
    "prepare_picture",
    "price_job",
    "price_ladder",
    "read_artwork",
    "read_stitch_csv",
    "trace_artwork",
    "write_hoopings",
    "write_outputs",
    "write_pdf",
    "write_png",
    "write_regions_svg",
    "write_stitch_csv",
    "write_threads_json",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'firstpiece' has no attribute {name!r}"
        raise AttributeError(msg)
    value = getattr(import_module(f"firstpiece.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
