"""A prepared job as the plain values and pictures that the traveller shows.

Input: a ``Prepared`` and its downloads. Output: JSON-ready values (units in the names) and picture
files by name. Runs in the worker, so that the page itself never decodes what a person sent.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np
from PIL import Image

from firstpiece.files.picture import write_png
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.model.material import rgb_to_hex
from firstpiece.shop.job_objects import job_object
from firstpiece.shop.sewout_drawing import MARGIN_MM
from firstpiece.units import needle_trade_number
from firstpiece.web.layer_blob import view_layers, write_layer_blob
from firstpiece.web.picture_match import painted_box
from firstpiece.web.run_files import (
    CLEANED,
    LAYERS,
    ORIGINAL_PNG,
    ORIGINAL_SVG,
    SEWING,
    STILL,
    THUMB,
    TRAVELLER_VERSION,
)
from firstpiece.web.view_blob import compress_view_blob, write_view_blob

if TYPE_CHECKING:
    from collections.abc import Mapping

    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.shop.prepare import Prepared

Object = dict[str, Any]

THUMB_PX = 240
ORIGINAL_PX = 1400
STILL_PX = 1400

SEWOUT = "sewout.png"


def traveller_object(
    prepared: Prepared, downloads: Mapping[str, bytes], *, offer_message: str = ""
) -> Object:
    """Return everything the traveller says about a run.

    Parameters
    ----------
    prepared : Prepared
    downloads : mapping of str to bytes
        The files offered, by name.
    offer_message : str
        What goes with the price to the customer; empty where there is no order yet.
    """
    width, height = prepared.size_mm
    is_drawing = prepared.artwork.pixels is None
    return {
        "page_version": TRAVELLER_VERSION,
        **job_object(prepared),
        "original": ORIGINAL_SVG if is_drawing else ORIGINAL_PNG,
        # The window of the still picture: the painted box with its margin, left, bottom, w, h.
        "still_mm": [
            round(-width / 2 - MARGIN_MM, 3),
            round(-height / 2 - MARGIN_MM, 3),
            round(width + 2 * MARGIN_MM, 3),
            round(height + 2 * MARGIN_MM, 3),
        ],
        "setup": _setup_object(prepared),
        "pace": _pace_object(prepared),
        "original_box": painted_box(prepared.artwork, prepared.region_map),
        "layers": [
            {"key": layer.key, "caution": layer.caution, "certainty": str(layer.certainty)}
            for layer in view_layers(prepared)
        ],
        "offer_message": offer_message,
        "files": [{"name": name, "bytes": len(data)} for name, data in downloads.items()],
    }


def _setup_object(prepared: Prepared) -> Object:
    setup, hoop = prepared.setup, prepared.hoop
    garment = setup.garment
    return {
        "garment": garment.label,
        "cloth_hex": rgb_to_hex(garment.rgb),
        "backing": setup.backing.label,
        "needs_topping": setup.fabric.needs_topping,
        "hoop": hoop.label if hoop else "",
        "needle": needle_trade_number(setup.needle.metric_size),
        "needle_point": setup.needle.point,
        "thread": setup.thread.label,
        "machine": setup.machine.label,
        "placement": garment.placement,
        "cautions": list(garment.cautions),
    }


def _pace_object(prepared: Prepared) -> Object:
    """Return what the page needs to know when each row is sewn: the machine card's middle values.

    ``minutes`` is the forecast's own sum, which the page's must meet.
    """
    machine = prepared.setup.machine
    return {
        "top_speed": machine.top_speed.value,
        "speed_constant": machine.speed_constant.value,
        "trim_s": machine.trim.value,
        "color_change_s": machine.color_change.value,
        "start_s": machine.start.value,
        "minutes": round(prepared.forecast.sewing_minutes.band.p50, 3),
    }


def traveller_pictures(prepared: Prepared, downloads: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the traveller's own pictures and the packed sewing, by file name."""
    still = np.asarray(Image.open(BytesIO(downloads[SEWOUT]), formats=["PNG"]).convert("RGB"))
    blob = write_view_blob(prepared.plan, setup=prepared.setup)
    return {
        CLEANED: write_regions_svg(prepared.region_map).encode(),
        STILL: _jpeg(_at_most(still, STILL_PX)),
        THUMB: write_png(_at_most(still, THUMB_PX)),
        SEWING: compress_view_blob(blob),
        LAYERS: compress_view_blob(write_layer_blob(view_layers(prepared))),
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


def _jpeg(pixels: NDArray[np.uint8]) -> bytes:
    """Return a picture for the page alone, a tenth of what it is without loss."""
    file = BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=88, optimize=True)
    return file.getvalue()


def _at_most(pixels: NDArray[np.uint8], longest_px: int) -> NDArray[np.uint8]:
    height, width = pixels.shape[:2]
    share = longest_px / max(height, width)
    if share >= 1.0:
        return pixels
    size = (max(1, round(width * share)), max(1, round(height * share)))
    small: NDArray[np.uint8] = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return small
