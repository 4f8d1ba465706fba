"""Firstpiece: from a customer's rough picture to an agreed, forecast and priced embroidery job.

The names below are loaded when first used, so that ``import firstpiece`` itself costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from firstpiece.briefing.stage import list_questions
    from firstpiece.editing.letters_found import find_letters
    from firstpiece.editing.means import EditMeans
    from firstpiece.editing.sewable_size import find_sewable_sizes
    from firstpiece.editing.stage import apply_edit, carry_out, pin_edit, replay_edits
    from firstpiece.editing.symmetry import find_symmetries
    from firstpiece.errors import FirstpieceError
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.files.pdf import write_pdf
    from firstpiece.files.picture import read_artwork, write_png
    from firstpiece.files.region_drawing import write_regions_svg
    from firstpiece.files.stitch_table import read_stitch_csv, write_stitch_csv, write_threads_json
    from firstpiece.forecasting.stage import forecast_sewout
    from firstpiece.lettering.set_text import set_text
    from firstpiece.model.edit import EditLog
    from firstpiece.model.lettering import ArcBaseline, CircleBaseline, StraightBaseline
    from firstpiece.model.paper import PaperJob
    from firstpiece.model.region import TraceOptions
    from firstpiece.model.stitch import StitchSpec, StitchType
    from firstpiece.paperwork.sewout_picture import draw_sewout
    from firstpiece.paperwork.stage import draw_papers
    from firstpiece.planning.stage import plan_stitches
    from firstpiece.pricing.stage import price_job
    from firstpiece.shop.ask import ask_customer
    from firstpiece.shop.edit_words import read_edit
    from firstpiece.shop.hoopings import gang_design, hoop_design, write_hoopings
    from firstpiece.shop.ladder import price_ladder
    from firstpiece.shop.letter import LetterRequest, letter_text
    from firstpiece.shop.outputs import write_outputs
    from firstpiece.shop.prepare import PrepareRequest, prepare_picture
    from firstpiece.tracing.stage import trace_artwork
    from firstpiece.units import parse_length_mm

__version__ = "0.1.0"

_HOMES = {
    "ArcBaseline": "model.lettering",
    "CardDrawer": "files.material_card",
    "CircleBaseline": "model.lettering",
    "EditLog": "model.edit",
    "EditMeans": "editing.means",
    "FirstpieceError": "errors",
    "LetterRequest": "shop.letter",
    "PaperJob": "model.paper",
    "PrepareRequest": "shop.prepare",
    "StitchSpec": "model.stitch",
    "StitchType": "model.stitch",
    "StraightBaseline": "model.lettering",
    "TraceOptions": "model.region",
    "apply_edit": "editing.stage",
    "ask_customer": "shop.ask",
    "carry_out": "editing.stage",
    "draw_papers": "paperwork.stage",
    "draw_sewout": "paperwork.sewout_picture",
    "find_letters": "editing.letters_found",
    "find_sewable_sizes": "editing.sewable_size",
    "find_symmetries": "editing.symmetry",
    "forecast_sewout": "forecasting.stage",
    "gang_design": "shop.hoopings",
    "hoop_design": "shop.hoopings",
    "letter_text": "shop.letter",
    "list_questions": "briefing.stage",
    "parse_length_mm": "units",
    "pin_edit": "editing.stage",
    "plan_stitches": "planning.stage",
    "prepare_picture": "shop.prepare",
    "price_job": "pricing.stage",
    "price_ladder": "shop.ladder",
    "read_artwork": "files.picture",
    "read_edit": "shop.edit_words",
    "read_stitch_csv": "files.stitch_table",
    "replay_edits": "editing.stage",
    "set_text": "lettering.set_text",
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
    "ArcBaseline",
    "CardDrawer",
    "CircleBaseline",
    "EditLog",
    "EditMeans",
    "FirstpieceError",
    "LetterRequest",
    "PaperJob",
    "PrepareRequest",
    "StitchSpec",
    "StitchType",
    "StraightBaseline",
    "TraceOptions",
    "__version__",
    "apply_edit",
    "ask_customer",
    "carry_out",
    "draw_papers",
    "draw_sewout",
    "find_letters",
    "find_sewable_sizes",
    "find_symmetries",
    "forecast_sewout",
    "gang_design",
    "hoop_design",
    "letter_text",
    "list_questions",
    "parse_length_mm",
    "pin_edit",
    "plan_stitches",
    "prepare_picture",
    "price_job",
    "price_ladder",
    "read_artwork",
    "read_edit",
    "read_stitch_csv",
    "replay_edits",
    "set_text",
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
