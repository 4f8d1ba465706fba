"""Forecast maps as bytes: every cell comes back on its scale, in its place.

Source of the checks: the layout written down in the module, struct and numpy as the oracle.
"""

from __future__ import annotations

import struct

import numpy as np
from tests.web.plans import striped_plan

from firstpiece.model.forecast import ForecastMap
from firstpiece.model.measured import Certainty
from firstpiece.shop.forecast_layers import ForecastLayer
from firstpiece.web.layer_blob import drawn_map, write_layer_blob


def _read(blob: bytes):
    assert blob[:4] == b"FPL1"
    (k,) = struct.unpack_from("<I", blob, 4)
    at, layers = 8 + 48 * k, {}
    for i in range(k):
        name, unit, rows, cols, left, top, cell, low, high = struct.unpack_from(
            "<12s8sIIfffff", blob, 8 + 48 * i
        )
        codes = np.frombuffer(blob, np.uint8, rows * cols, at).reshape(rows, cols)
        at += rows * cols
        values = np.where(codes == 0, np.nan, low + (codes - 1.0) / 254 * (high - low))
        layers[name.decode().strip()] = (values, unit.decode().strip(), left, top, cell)
    assert at == len(blob)
    return layers


def _layer(key: str, values, unit: str, high: float) -> ForecastLayer:
    found = ForecastMap(np.asarray(values, np.float32), -2.0, 1.5, 0.5, unit)
    return ForecastLayer(key, "label", "caution", found, 0.0, high, Certainty.DEFAULT)


def test_every_cell_comes_back_within_half_a_step():
    values = np.linspace(0.0, 6.0, 12, dtype=np.float32).reshape(3, 4)
    values[1, 1] = 0.0
    layers = (
        _layer("threads", values, "threads", 5.0),
        _layer("holes", np.zeros((2, 2)), "1/mm²", 14.0),
    )
    got = _read(write_layer_blob(layers))
    cells, unit, left, top, cell = got["threads"]
    assert (unit, left, top, cell) == ("threads", -2.0, 1.5, 0.5)
    assert np.isnan(cells[0, 0])
    assert np.isnan(cells[1, 1])
    told = ~np.isnan(cells)
    assert told.sum() == 10
    # What lies beyond the scale's end is shown as its end.
    np.testing.assert_allclose(cells[told], np.minimum(values[told], 5.0), atol=2.6 / 254)
    assert np.isnan(got["holes"][0]).all()
    assert got["holes"][1] == "1/mm²"


def test_the_drawn_map_is_how_far_settled_points_lie_from_planned_ones():
    plan = striped_plan()
    layer = drawn_map(plan, plan.xy_mm + np.array([0.3, -0.4]))
    told = layer.values[layer.values > 0]
    np.testing.assert_allclose(told, 0.5, rtol=1e-5)
    x, y = plan.xy_mm[plan.is_stitch].T
    row, col = np.nonzero(layer.values)
    assert abs(layer.left_mm + (col.min() + 1) * layer.pixel_mm - x.min()) < 2.0
    assert abs(layer.top_mm - (row.min() + 1) * layer.pixel_mm - y.max()) < 2.0
    assert drawn_map(plan, None) is None
