"""The forecast as layers over the design, all on one grid, for a picture of any kind.

Input: a prepared job. Output: named rasters in mm with their scale, certainty and a word of
caution, and the same as one compact object (eight bits a cell) for a page.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import numpy as np

from firstpiece.forecasting.needle_holes import hole_density
from firstpiece.model.forecast import ForecastMap
from firstpiece.model.measured import Certainty
from firstpiece.paperwork.map_picture import map_colors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.shop.prepare import Prepared

FINE_MM, COARSE_MM, FINE_TO_MM = 0.5, 1.0, 150.0
LEVELS = 255


@dataclass(frozen=True, slots=True, eq=False)
class ForecastLayer:
    """One figure of the forecast over the whole design.

    Parameters
    ----------
    key : str
        ``cover``, ``threads``, ``shift``, ``front``, ``back``, ``holes``.
    label, caution : str
        What it shows, and how far it can be trusted, in words.
    map : ForecastMap
        All layers of a job lie on one grid.
    low, high : float
        Ends of the scale, in the map's unit; higher values are drawn as ``high``.
    certainty : Certainty
    """

    key: str
    label: str
    caution: str
    map: ForecastMap
    low: float
    high: float
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class LayerGrid:
    """The common grid: outer corner of the first cell at the top left, cell [mm], cells."""

    left_mm: float
    top_mm: float
    pixel_mm: float
    rows: int
    cols: int


def layers_of(prepared: Prepared, *, pixel_mm: float | None = None) -> tuple[ForecastLayer, ...]:
    """Return the forecast's layers on one grid.

    Parameters
    ----------
    prepared : Prepared
    pixel_mm : float or None [mm]
        Side of a cell; half a millimetre up to 150 mm, one beyond, unless given.

    Returns
    -------
    tuple of ForecastLayer
        Row 0 is the top. Each cell holds the mean of what lies in it.
    """
    forecast = prepared.forecast
    grid = _grid(prepared, pixel_mm)
    guess, sure = Certainty.DEFAULT, Certainty.COMPUTED
    rows = (
        ("cover", _("Share of the cloth under thread"), _("at the thread card's laid width"),
         forecast.cover, 1.0, guess),
        ("threads", _("Threads lying over each other"), _("at the thread card's laid width"),
         forecast.layers, 4.0, guess),
        ("shift", _("How far the cloth changes the thread's colour, read close"),
         _("rests on how much light the thread scatters: not known without a cover card"),
         forecast.color_shift, 10.0, guess),
        ("front", _("Height of thread on the front"), _("an upper bound"),
         forecast.height_front, 1.0, guess),
        ("back", _("Height of thread on the back"), _("an upper bound"),
         forecast.height_back, 1.0, guess),
        ("holes", _("Needle holes in the square millimetre round each place"),
         _("a proxy for hard spots and cut cloth, not a measure of damage"),
         hole_density(prepared.plan, grid.left_mm, grid.top_mm, grid.pixel_mm,
                      (grid.rows, grid.cols)), 14.0, sure),
    )  # fmt: skip
    return tuple(
        ForecastLayer(key, label, caution, _on_grid(found, grid), 0.0, high, certainty)
        for key, label, caution, found, high, certainty in rows
        if found is not None
    )


def layers_object(layers: tuple[ForecastLayer, ...]) -> dict[str, Any]:
    """Return layers as one plain object.

    Each layer's ``data`` is base64 of one byte a cell, row by row from the top left: a value is
    ``low + byte / 255 · (high − low)``, and 255 stands for ``high`` and more. ``colors`` are the
    256 colours of the scale.
    """
    if not layers:
        return {"layers": [], "colors": []}
    first = layers[0].map
    return {
        "left_mm": round(first.left_mm, 3),
        "top_mm": round(first.top_mm, 3),
        "pixel_mm": first.pixel_mm,
        "rows": first.values.shape[0],
        "cols": first.values.shape[1],
        "colors": ["#{:02x}{:02x}{:02x}".format(*c) for c in map_colors().tolist()],
        "layers": [
            {
                "key": layer.key,
                "label": layer.label,
                "caution": layer.caution,
                "unit": layer.map.unit,
                "low": layer.low,
                "high": layer.high,
                "certainty": str(layer.certainty),
                "mean": round(float(layer.map.values.mean()), 4),
                "most": round(float(layer.map.values.max(initial=0.0)), 4),
                "data": base64.b64encode(_as_bytes(layer)).decode(),
            }
            for layer in layers
        ],
    }


def _grid(prepared: Prepared, pixel_mm: float | None) -> LayerGrid:
    """Return the grid over painted box and stitches, the design's origin on a cell's corner."""
    points = prepared.plan.xy_mm[prepared.plan.is_stitch]
    width, height = prepared.size_mm
    reach = np.array([width, height]) / 2
    low, high = -reach, reach
    if len(points):
        low, high = np.minimum(low, points.min(axis=0)), np.maximum(high, points.max(axis=0))
    largest = float((high - low).max())
    cell = pixel_mm or (FINE_MM if largest <= FINE_TO_MM else COARSE_MM)
    first = np.floor(low / cell) - 1
    last = np.ceil(high / cell) + 1
    cols, rows = (int(n) for n in last - first)
    return LayerGrid(float(first[0]) * cell, float(last[1]) * cell, cell, rows, cols)


def _on_grid(found: ForecastMap, grid: LayerGrid) -> ForecastMap:
    """Return a map's means over the cells of another grid; outside it is nothing."""
    offsets = (found.top_mm - grid.top_mm, grid.left_mm - found.left_mm)
    down, right = (
        _edges(n, found.pixel_mm, offset, grid.pixel_mm * np.arange(cells + 1.0))
        for n, offset, cells in zip(
            found.values.shape, offsets, (grid.rows, grid.cols), strict=True
        )
    )
    sums = np.zeros((found.values.shape[0] + 1, found.values.shape[1] + 1))
    sums[1:, 1:] = found.values.astype(np.float64).cumsum(axis=0).cumsum(axis=1)
    by_row = _read(sums, *down)
    table = _read(by_row.T, *right).T
    cells = np.diff(np.diff(table, axis=0), axis=1) * (found.pixel_mm / grid.pixel_mm) ** 2
    return ForecastMap(
        np.maximum(cells, 0.0).astype(np.float32),
        grid.left_mm, grid.top_mm, grid.pixel_mm, found.unit,
    )  # fmt: skip


def _edges(
    n: int, own_mm: float, offset_mm: float, at_mm: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return where cell edges lie in the map's own pixels, whole and part, kept inside it."""
    place = np.clip((at_mm + offset_mm) / own_mm, 0.0, n)
    whole = np.floor(place).astype(np.int64)
    return whole, place - whole


def _read(
    sums: NDArray[np.float64], whole: NDArray[np.int64], part: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return running sums at fractional places along the first axis."""
    after = np.minimum(whole + 1, len(sums) - 1)
    read: NDArray[np.float64] = sums[whole] + part[:, None] * (sums[after] - sums[whole])
    return read


def _as_bytes(layer: ForecastLayer) -> bytes:
    share = (layer.map.values - layer.low) / max(layer.high - layer.low, 1e-9)
    data: bytes = np.rint(np.clip(share, 0.0, 1.0) * LEVELS).astype(np.uint8).tobytes()
    return data
