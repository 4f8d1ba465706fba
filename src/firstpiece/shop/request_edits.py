"""A request with one more edit: what remedies, answers and a person's own words add to it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from firstpiece.model.edit import scaled_edit

if TYPE_CHECKING:
    from firstpiece.model.edit import Edit
    from firstpiece.shop.prepare import PrepareRequest


def with_edit(request: PrepareRequest, *edits: Edit) -> PrepareRequest:
    """Return a request with further edits, made on its design as it now stands.

    The first fixes the height that the log's places belong to; later ones are brought to it.
    """
    log = request.edits
    if not log.edits or not log.height_mm:
        log = replace(log, height_mm=request.height_mm)
    for edit in edits:
        log = log.add(scaled_edit(edit, log.height_mm / request.height_mm))
    return replace(request, edits=log)
