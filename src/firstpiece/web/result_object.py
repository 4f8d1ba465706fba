"""A prepared job as the plain values and pictures that the traveller shows.

Input: a ``Prepared``. Output: JSON-ready values (units in the names) and picture files by name.
Runs in the worker, so that the page itself never decodes what a person sent.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import cv2
import numpy as np

from firstpiece.files.picture import write_png
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.files.result_json import (
    findings_list,
    forecast_object,
    plan_object,
    questions_object,
    quote_object,
)
from firstpiece.model.material import rgb_to_hex
from firstpiece.paperwork.sewout_picture import draw_sewout, plan_window_mm
from firstpiece.units import needle_trade_number
from firstpiece.web.run_files import CLEANED, ORIGINAL_PNG, ORIGINAL_SVG, SEWING, STILL, THUMB
from firstpiece.web.view_blob import compress_view_blob, write_view_blob

if TYPE_CHECKING:
    from pathlib import Path

    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.shop.ladder import Ladder
    from firstpiece.shop.prepare import Prepared

Object = dict[str, Any]

MARGIN_MM = 8.0
STILL_PX = 1600
"""Longer side of the still sew-out picture: sharp at full page width on a common screen."""

FINEST_PX_PER_MM = 16.0
THUMB_PX = 240
ORIGINAL_PX = 1400


def traveller_object(prepared: Prepared, *, files: tuple[Path, ...]) -> Object:
    """Return everything the traveller says about a run.

    Parameters
    ----------
    prepared : Prepared
    files : tuple of pathlib.Path
        The written downloads.
    """
    setup, region_map = prepared.setup, prepared.region_map
    width, height = prepared.size_mm
    hoop = setup.smallest_hoop(width, height)
    left, bottom, still_width, still_height = plan_window_mm(prepared.plan, margin_mm=MARGIN_MM)
    garment = setup.garment
    return {
        "version": 1,
        "kind": "traveller",
        "width_mm": round(width, 2),
        "height_mm": round(height, 2),
        "original": ORIGINAL_SVG if prepared.artwork.pixels is None else ORIGINAL_PNG,
        "still_mm": [round(v, 3) for v in (left, bottom, still_width, still_height)],
        "plan": plan_object(prepared.plan),
        "forecast": forecast_object(prepared.forecast),
        "quote": quote_object(prepared.quote),
        "findings": findings_list(prepared.findings),
        **questions_object(prepared.questions),
        "matches": [
            {"art_hex": rgb_to_hex(m.art_rgb), "thread_hex": m.thread.hex,
             "thread": m.thread.name, "delta_e": round(m.delta_e, 1)}
            for m in region_map.matches
        ],
        "setup": {
            "garment": garment.label,
            "cloth_hex": rgb_to_hex(garment.rgb),
            "fabric": setup.fabric.label,
            "backing": setup.backing.label,
            "needs_topping": setup.fabric.needs_topping,
            "hoop": hoop.label if hoop else "",
            "needle": needle_trade_number(setup.needle.metric_size),
            "needle_point": setup.needle.point,
            "thread": setup.thread.label,
            "machine": setup.machine.label,
            "placement": garment.placement,
            "cautions": list(garment.cautions),
        },
        "files": [{"name": p.name, "bytes": p.stat().st_size} for p in files],
    }  # fmt: skip


def traveller_pictures(prepared: Prepared) -> dict[str, bytes]:
    """Return the traveller's pictures and the packed sewing, by file name."""
    _, _, width, height = plan_window_mm(prepared.plan, margin_mm=MARGIN_MM)
    zoom = min(FINEST_PX_PER_MM, STILL_PX / max(width, height))
    still = draw_sewout(
        prepared.plan, setup=prepared.setup, pixels_per_mm=zoom, margin_mm=MARGIN_MM
    )
    blob = write_view_blob(prepared.plan, setup=prepared.setup)
    return {
        CLEANED: write_regions_svg(prepared.region_map).encode(),
        STILL: write_png(still),
        THUMB: write_png(_at_most(still, THUMB_PX)),
        SEWING: compress_view_blob(blob),
    }


def ladder_object(ladder: Ladder) -> Object:
    """Return a price table: one entry a height, its quotes in the order of the quantities."""
    return {
        "version": 1,
        "kind": "ladder",
        "quantities": list(ladder.quantities),
        "rungs": [
            {
                "height_mm": round(rung.height_mm, 2),
                "width_mm": round(rung.width_mm, 2),
                "n_stitches": rung.n_stitches,
                "minutes": round(rung.minutes.band.p50, 1),
                "hoop": rung.hoop,
                "n_blocking": rung.n_blocking,
                "quotes": [quote_object(q) for q in rung.quotes],
            }
            for rung in ladder.rungs
        ],
    }


def original_picture(artwork: Artwork) -> dict[str, bytes]:
    """Return what arrived, drawn anew from what was understood of it, by file name."""
    if artwork.pixels is not None:
        return {ORIGINAL_PNG: write_png(_at_most(artwork.pixels, ORIGINAL_PX))}
    shapes = artwork.shapes or ()
    paths = "".join(
        f'<path fill="{rgb_to_hex(s.rgb)}" fill-rule="evenodd" d="{_outline(s.area)}"/>'
        for s in shapes
    )
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {artwork.width:g} '
        f'{artwork.height:g}" width="{artwork.width:g}" height="{artwork.height:g}">{paths}</svg>'
    )
    return {ORIGINAL_SVG: text.encode()}


def _outline(area: shapely.Polygon | shapely.MultiPolygon) -> str:
    polygons = getattr(area, "geoms", [area])
    rings = [r for p in polygons for r in (p.exterior, *p.interiors)]
    return " ".join(
        "M" + "L".join(f"{x:.2f},{y:.2f}" for x, y in np.asarray(r.coords)[:-1, :2]) + "Z"
        for r in rings
    )


def _at_most(pixels: NDArray[np.uint8], longest_px: int) -> NDArray[np.uint8]:
    height, width = pixels.shape[:2]
    share = longest_px / max(height, width)
    if share >= 1.0:
        return pixels
    size = (max(1, round(width * share)), max(1, round(height * share)))
    small: NDArray[np.uint8] = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return small
