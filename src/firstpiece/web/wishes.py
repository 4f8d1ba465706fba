"""What a person wants otherwise than the chain would choose, as one text in what a run is asked.

Wishes by area, the log of edits, a backing and a needle: JSON in a fixed order, so that the same
wishes make the same run. Whoever adds edits to a run (a remedy, a sentence about an area) makes a
request with them and writes its wishes here.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING

from firstpiece.units import format_length

if TYPE_CHECKING:
    from firstpiece.model.edit import EditLog
    from firstpiece.model.stitch import StitchSpec
    from firstpiece.shop.prepare import PrepareRequest
    from firstpiece.web.job_folder import Asked


@dataclass(frozen=True, slots=True)
class Wishes:
    """Wishes by area, edits, and card choices that no sentence of the page offers."""

    edits: EditLog
    specs: dict[int, StitchSpec] = field(default_factory=dict)
    backing: str = ""
    needle: int = 0
    true_shape: bool = False


def read_wishes(text: str) -> Wishes | None:
    """Return the wishes of a run, or None where it has none of its own."""
    if not text:
        return None
    from firstpiece.model.design import spec_from
    from firstpiece.model.edit_code import log_from

    plain = json.loads(text)
    specs = {int(area): spec_from(spec) for area, spec in plain["specs"].items()}
    return Wishes(
        log_from(plain["edits"]), specs, plain["backing"], plain["needle"], plain["true_shape"]
    )


def write_wishes(request: PrepareRequest) -> str:
    """Return everything about a request that is wished by hand."""
    from firstpiece.model.edit_code import log_object

    plain = {
        "specs": {str(area): _told(spec) for area, spec in sorted(request.specs.items())},
        "edits": log_object(request.edits),
        "backing": request.backing,
        "needle": request.needle,
        "true_shape": request.true_shape,
    }
    return json.dumps(plain, sort_keys=True)


def asked_after(asked: Asked, request: PrepareRequest) -> Asked:
    """Return what to ask for so that ``request`` is what comes of it."""
    height_mm = float(request.height_mm)
    same_height = height_mm == asked.height_mm
    return replace(
        asked,
        height_mm=height_mm,
        height_text=asked.height_text if same_height else format_length(height_mm),
        garment=request.garment,
        thread=request.thread,
        row_spacing_mm=(),
        wishes=write_wishes(request),
    )


def carried(before: Asked, asked: Asked) -> str:
    """Return the wishes that still hold when a sentence is asked otherwise.

    Another number of colours makes other areas; another height finds them anew, but edits know
    their places and grow along.
    """
    if not before.wishes or asked.n_colors != before.n_colors:
        return ""
    plain = json.loads(before.wishes)
    if asked.height_mm != before.height_mm:
        plain["specs"] = {}
    return json.dumps(plain, sort_keys=True)


def _told(spec: StitchSpec) -> dict[str, object]:
    return {name: value for name, value in asdict(spec).items() if value is not None}
