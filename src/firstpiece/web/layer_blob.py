"""Forecast maps packed for the thread view: one byte a cell, with the scale each byte is on.

Input: a ``Prepared``. Output: bytes of our own layout "FPL1", to be gzipped. Little-endian: magic
``FPL1``; uint32 k layers; k heads of 48 bytes (name, 12 ASCII bytes padded with spaces; unit, 8
UTF-8 bytes padded; uint32 rows; uint32 columns; float32 left, top, cell [mm]; float32 low; float32
high); then the layers' cells, row 0 the top. A cell of 0 says nothing; 1 to 255 run from low to
high.
"""

from __future__ import annotations

import math
import struct
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from firstpiece.model.forecast import ForecastMap

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan
    from firstpiece.shop.prepare import Prepared

MAGIC = b"FPL1"
MOST_CELLS = 640
"""Along the longer side: finer than a finger can point on the screen."""

SHIFT_CELL_MM, HOLE_CELL_MM = 1.0, 1.0 / 3.0
NOTHING = 1e-3

_HEAD = struct.Struct("<12s8sIIfffff")


def view_layers(prepared: Prepared) -> dict[str, ForecastMap]:
    """Return the maps a person may look at, by name, those the forecast has.

    Names are ``layers`` (threads that lie over one another), ``shows`` (how far the cloth changes
    the thread's colour), ``front`` and ``back`` (height of thread), ``shift`` (how far the cloth
    moves under it) and ``holes`` (penetrations per mm²).
    """
    forecast, plan = prepared.forecast, prepared.plan
    found = {
        "layers": forecast.layers,
        "shows": forecast.color_shift,
        "front": forecast.height_front,
        "back": forecast.height_back,
        "shift": _shift_map(plan, forecast.settled_mm),
        "holes": _hole_map(plan),
    }
    return {name: _coarse(layer) for name, layer in found.items() if layer is not None}


def write_layer_blob(layers: Mapping[str, ForecastMap]) -> bytes:
    """Return the maps as an uncompressed "FPL1" blob."""
    heads, planes = [], []
    for name, layer in layers.items():
        values = layer.values
        told = values > NOTHING
        low, high = _ends(values[told])
        codes = np.zeros(values.shape, np.uint8)
        share = np.clip((values[told] - low) / (high - low), 0.0, 1.0)
        codes[told] = 1 + np.rint(254 * share).astype(np.uint8)
        unit = layer.unit.encode()[:8].ljust(8)
        rows, cols = values.shape
        place = (layer.left_mm, layer.top_mm, layer.pixel_mm)
        heads.append(_HEAD.pack(name.encode().ljust(12), unit, rows, cols, *place, low, high))
        planes.append(codes.tobytes())
    return MAGIC + struct.pack("<I", len(heads)) + b"".join(heads) + b"".join(planes)


def _ends(values: NDArray[np.float32]) -> tuple[float, float]:
    """Return the scale's ends: from nothing to the largest but the most extreme thousandth."""
    if not len(values):
        return 0.0, 1.0
    high = float(np.quantile(values, 0.999))
    return 0.0, max(high, 1e-6)


def _shift_map(plan: StitchPlan, settled: NDArray[np.float64] | None) -> ForecastMap | None:
    if settled is None or not plan.n_stitches:
        return None
    mask = plan.is_stitch
    points = plan.xy_mm[mask]
    moved = np.hypot(*(settled[mask] - points).T)
    counts, corner = _histogram(points, SHIFT_CELL_MM, np.ones(len(points)))
    sums, _corner = _histogram(points, SHIFT_CELL_MM, moved)
    # Cells between rows take the mean of their neighbours, so that the map has no pinholes.
    counts, sums = (ndimage.uniform_filter(v, 3, mode="constant") for v in (counts, sums))
    mean = np.divide(sums, counts, out=np.zeros_like(sums), where=counts > 0.05)
    return _map(mean, corner, SHIFT_CELL_MM, "mm")


def _hole_map(plan: StitchPlan) -> ForecastMap | None:
    if not plan.n_stitches:
        return None
    points = plan.xy_mm[plan.is_stitch]
    counts, corner = _histogram(points, HOLE_CELL_MM, np.ones(len(points)))
    # Nine cells make one square millimetre.
    return _map(9.0 * ndimage.uniform_filter(counts, 3, mode="constant"), corner, HOLE_CELL_MM,
                "1/mm²")  # fmt: skip


def _histogram(
    points: NDArray[np.float64], cell: float, weights: NDArray[np.float64]
) -> tuple[NDArray[np.float64], tuple[float, float]]:
    """Return sums per cell, row 0 the bottom, and the lower left corner."""
    low = np.floor(points.min(axis=0) / cell) - 1
    n = (np.floor(points.max(axis=0) / cell) - low + 2).astype(int)
    col, row = (np.floor(points / cell) - low).astype(int).T
    flat = np.bincount(row * n[0] + col, weights=weights, minlength=n[0] * n[1])
    sums: NDArray[np.float64] = flat.reshape(n[1], n[0]).astype(np.float64)
    return sums, (float(low[0] * cell), float(low[1] * cell))


def _map(
    values: NDArray[np.float64], corner: tuple[float, float], cell: float, unit: str
) -> ForecastMap:
    top = corner[1] + values.shape[0] * cell
    return ForecastMap(values[::-1].astype(np.float32), corner[0], top, cell, unit)


def _coarse(layer: ForecastMap) -> ForecastMap:
    """Return the map in cells that a screen can show, each the mean of those it replaces."""
    rows, cols = layer.values.shape
    block = math.ceil(max(rows, cols, 1) / MOST_CELLS)
    if block == 1:
        return layer
    values = np.pad(layer.values, ((0, -rows % block), (0, -cols % block)))
    shape = (values.shape[0] // block, block, values.shape[1] // block, block)
    blocks = values.reshape(shape)
    counts = (blocks > NOTHING).sum(axis=(1, 3))
    sums = blocks.sum(axis=(1, 3))
    mean = np.divide(sums, counts, out=np.zeros_like(sums), where=counts > block**2 / 4)
    return ForecastMap(mean, layer.left_mm, layer.top_mm, layer.pixel_mm * block, layer.unit)
