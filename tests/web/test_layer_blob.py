"""Forecast maps as bytes: every cell comes back on its scale, in its place.

Source of the checks: the layout written down in the module, struct and numpy as the oracle; holes
are counted anew by brute force.
"""

from __future__ import annotations

import struct

import numpy as np
import pytest
from tests.web.plans import striped_plan

from firstpiece.model.forecast import ForecastMap
from firstpiece.web.layer_blob import MOST_CELLS, _coarse, _hole_map, _shift_map, write_layer_blob


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


def test_every_cell_comes_back_within_half_a_step():
    values = np.linspace(0.0, 6.0, 12, dtype=np.float32).reshape(3, 4)
    values[1, 1] = 0.0
    layers = {
        "layers": ForecastMap(values, -2.0, 1.5, 0.5, "layers"),
        "holes": ForecastMap(np.zeros((2, 2)), 0, 0, 1, "1/mm²"),
    }
    got = _read(write_layer_blob(layers))
    cells, unit, left, top, cell = got["layers"]
    assert (unit, left, top, cell) == ("layers", -2.0, 1.5, 0.5)
    assert np.isnan(cells[0, 0])
    assert np.isnan(cells[1, 1])
    told = ~np.isnan(cells)
    assert told.sum() == 10
    np.testing.assert_allclose(cells[told], values[told], atol=6.0 / 254)
    assert np.isnan(got["holes"][0]).all()
    assert got["holes"][1] == "1/mm²"


def test_holes_are_those_within_a_square_millimetre():
    plan = striped_plan()
    layer = _hole_map(plan)
    points = plan.xy_mm[plan.is_stitch]
    rows, cols = layer.values.shape
    for row, col in ((rows // 2, cols // 3), (3, 4), (rows // 2, cols // 2)):
        x = layer.left_mm + (col + 0.5) * layer.pixel_mm
        y = layer.top_mm - (row + 0.5) * layer.pixel_mm
        near = np.floor(np.round(points * 3, 9)) / 3 + layer.pixel_mm / 2
        inside = (np.abs(near - (x, y)) < 0.5).all(axis=1).sum()
        assert layer.values[row, col] == pytest.approx(inside, abs=1e-3)
    assert layer.values.max() == 3.0


def test_shift_is_how_far_the_settled_points_lie_from_the_planned():
    plan = striped_plan()
    layer = _shift_map(plan, plan.xy_mm + np.array([0.3, -0.4]))
    told = layer.values[layer.values > 0]
    np.testing.assert_allclose(told, 0.5, rtol=1e-5)
    assert _shift_map(plan, None) is None


def test_a_large_map_is_made_coarse_without_moving():
    values = np.ones((100, 3 * MOST_CELLS), np.float32)
    layer = _coarse(ForecastMap(values, -7.0, 3.0, 0.1, "mm"))
    assert layer.values.shape == (34, MOST_CELLS)
    assert layer.pixel_mm == pytest.approx(0.3)
    assert (layer.left_mm, layer.top_mm) == (-7.0, 3.0)
    assert layer.values[:-1].min() == 1.0
