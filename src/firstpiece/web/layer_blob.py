"""Forecast maps packed for the thread view: one byte a cell, with the scale each byte is on.

Input: layers of a forecast. Output: bytes of our own layout "FPL1", to be gzipped. Little-endian:
magic ``FPL1``; uint32 k layers; k heads of 48 bytes (key, 12 ASCII bytes padded with spaces; unit,
8 UTF-8 bytes padded; uint32 rows; uint32 columns; float32 left, top, cell [mm]; float32 low;
float32 high); then the layers' cells, row 0 the top. A cell of 0 says nothing; 1 to 255 run from
low to high.
"""

from __future__ import annotations

import struct
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from firstpiece.model.forecast import ForecastMap
from firstpiece.model.measured import Certainty
from firstpiece.shop.forecast_layers import ForecastLayer, layers_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan
    from firstpiece.shop.prepare import Prepared

MAGIC = b"FPL1"
DRAWN_CELL_MM = 1.0
NOTHING = 1e-3

_HEAD = struct.Struct("<12s8sIIfffff")


def view_layers(prepared: Prepared) -> tuple[ForecastLayer, ...]:
    """Return the forecast's layers, and how far the cloth is drawn where the model can say it."""
    layers = layers_of(prepared)
    drawn = drawn_map(prepared.plan, prepared.forecast.settled_mm)
    if drawn is None:
        return layers
    caution = _("rests on the cloth card: not known without a sewn swatch")
    high = max(0.1, float(np.quantile(drawn.values[drawn.values > NOTHING], 0.999)))
    label = _("How far the cloth is drawn")
    return (
        *layers,
        ForecastLayer("drawn", label, caution, drawn, 0.0, high, Certainty.DEFAULT),
    )


def write_layer_blob(layers: Iterable[ForecastLayer]) -> bytes:
    """Return the layers as an uncompressed "FPL1" blob."""
    heads, planes = [], []
    for layer in layers:
        values = layer.map.values
        told = values > NOTHING
        codes = np.zeros(values.shape, np.uint8)
        share = np.clip((values[told] - layer.low) / (layer.high - layer.low), 0.0, 1.0)
        codes[told] = 1 + np.rint(254 * share).astype(np.uint8)
        rows, cols = values.shape
        place = (layer.map.left_mm, layer.map.top_mm, layer.map.pixel_mm)
        key, unit = layer.key.encode().ljust(12), layer.map.unit.encode()[:8].ljust(8)
        heads.append(_HEAD.pack(key, unit, rows, cols, *place, layer.low, layer.high))
        planes.append(codes.tobytes())
    return MAGIC + struct.pack("<I", len(heads)) + b"".join(heads) + b"".join(planes)


def drawn_map(plan: StitchPlan, settled: NDArray[np.float64] | None) -> ForecastMap | None:
    """Return how far needle points end up from where they went in [mm], None when not known."""
    if settled is None or not plan.n_stitches:
        return None
    mask = plan.is_stitch
    points = plan.xy_mm[mask]
    moved = np.hypot(*(settled[mask] - points).T)
    counts, corner = _histogram(points, np.ones(len(points)))
    sums, _corner = _histogram(points, moved)
    # Cells between rows take the mean of their neighbours, so that the map has no pinholes.
    counts, sums = (ndimage.uniform_filter(v, 3, mode="constant") for v in (counts, sums))
    mean = np.divide(sums, counts, out=np.zeros_like(sums), where=counts > 0.05)
    top = corner[1] + mean.shape[0] * DRAWN_CELL_MM
    return ForecastMap(mean[::-1].astype(np.float32), corner[0], top, DRAWN_CELL_MM, "mm")


def _histogram(
    points: NDArray[np.float64], weights: NDArray[np.float64]
) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """Return sums per cell, row 0 the bottom, and the lower left corner."""
    cell = DRAWN_CELL_MM
    low = np.floor(points.min(axis=0) / cell) - 1
    n = (np.floor(points.max(axis=0) / cell) - low + 2).astype(int)
    col, row = (np.floor(points / cell) - low).astype(int).T
    flat = np.bincount(row * n[0] + col, weights=weights, minlength=n[0] * n[1])
    sums: NDArray[np.float64] = flat.reshape(n[1], n[0]).astype(np.float64)
    return sums, (float(low[0] * cell), float(low[1] * cell))
