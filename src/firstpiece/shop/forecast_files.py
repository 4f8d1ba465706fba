"""The forecast's maps as files: a picture of each layer and all of them as one compact object."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstpiece.files.picture import write_png
from firstpiece.files.result_json import write_json
from firstpiece.files.safe_write import write_together
from firstpiece.paperwork.map_picture import draw_map
from firstpiece.shop.forecast_layers import layers_object, layers_of
from firstpiece.shop.sewout_drawing import draw_with_pucker

if TYPE_CHECKING:
    from pathlib import Path

    from firstpiece.shop.prepare import Prepared

PICTURE_PX = 1200


def make_layers(prepared: Prepared) -> dict[str, bytes]:
    """Return the contents of every file by name."""
    layers = layers_of(prepared)
    made = {"layers.json": write_json("layers", layers_object(layers)).encode()}
    for layer in layers:
        values = layer.map.values
        enlarge = max(1, PICTURE_PX // max(values.shape))
        pixels = draw_map(values, low=layer.low, high=layer.high, enlarge=enlarge)
        made[f"map-{layer.key}.png"] = write_png(pixels, dpi=25.4 * enlarge / layer.map.pixel_mm)
    made["pucker-illustration.png"] = write_png(draw_with_pucker(prepared))
    return made


def write_layers(prepared: Prepared, folder: Path) -> tuple[Path, ...]:
    """Write the forecast's maps into a folder, all or none.

    Raises
    ------
    OutputError
        When the folder cannot be written to.
    """
    return write_together(folder, make_layers(prepared))
