"""Layers on one grid, pins with prices, the forecast's tables: what a page is built from."""

from __future__ import annotations

import base64
import json
from dataclasses import replace

import numpy as np
import pytest

from firstpiece.errors import InputError
from firstpiece.files.picture import read_artwork
from firstpiece.shop.finding_pins import mark, pin_object, pins_of, price_pins
from firstpiece.shop.forecast_files import make_layers
from firstpiece.shop.forecast_layers import layers_object, layers_of
from firstpiece.shop.forecast_report import report_object, report_on
from firstpiece.shop.prepare import PrepareRequest, prepare


@pytest.fixture
def job(fresh_home, badge):
    request = PrepareRequest(badge, "badge", 40.0, garment="tee-black", quantity=5)
    return request, prepare(request)


def volume(found):
    return float(found.values.sum()) * found.pixel_mm**2


def test_layers_share_a_grid_and_keep_what_lies_on_it(job):
    _request, prepared = job
    layers = {layer.key: layer for layer in layers_of(prepared)}
    assert list(layers) == ["cover", "threads", "shift", "front", "back", "holes"]
    places = {(m.map.left_mm, m.map.top_mm, m.map.pixel_mm, m.map.values.shape)
              for m in layers.values()}  # fmt: skip
    assert len(places) == 1
    for key, before in (("front", prepared.forecast.height_front),
                        ("back", prepared.forecast.height_back),
                        ("threads", prepared.forecast.layers),
                        ("cover", prepared.forecast.cover)):  # fmt: skip
        assert volume(layers[key].map) == pytest.approx(volume(before), rel=1e-4)
    # A coarser grid holds the same thread.
    coarse = {layer.key: layer for layer in layers_of(prepared, pixel_mm=2.0)}
    assert volume(coarse["front"].map) == pytest.approx(volume(layers["front"].map), rel=1e-4)
    assert layers["cover"].map.values.max() <= 1.0 + 1e-5
    assert layers["holes"].map.values.max() >= 2


def test_the_compact_object_is_read_back(job):
    _request, prepared = job
    layers = layers_of(prepared)
    told = json.loads(json.dumps(layers_object(layers)))
    assert len(told["colors"]) == 256
    for layer, one in zip(layers, told["layers"], strict=True):
        codes = np.frombuffer(base64.b64decode(one["data"]), np.uint8)
        values = one["low"] + codes.reshape(told["rows"], told["cols"]) / 255 * one["high"]
        step = (one["high"] - one["low"]) / 255
        expected = np.clip(layer.map.values, one["low"], one["high"])
        assert np.abs(values - expected).max() <= step / 2 + 1e-6
    assert layers_object(()) == {"layers": [], "colors": []}


def test_maps_are_pictures(job):
    _request, prepared = job
    made = make_layers(prepared)
    for name, data in made.items():
        if name.endswith(".png"):
            art = read_artwork(data, name=name)
            assert art is not None


def test_pins_are_numbered_as_on_paper_and_priced_when_asked(job):
    request, prepared = job
    pins = pins_of(prepared)
    assert [p.number for p in pins] == list(range(1, len(pins) + 1))
    chosen = next(p.number for p in pins if p.finding.remedies)
    (pin,) = price_pins(request, [chosen], prepared=prepared)
    told = pin_object(pin)
    assert told["pin"] == chosen
    assert [r["mark"] for r in told["remedies"]] == [
        mark(chosen, k) for k in range(len(pin.finding.remedies))
    ]
    assert all({"stitches", "minutes", "each", "answers"} <= set(r) for r in told["remedies"])
    assert all("stitches" not in r for p in pins for r in pin_object(p)["remedies"])
    with pytest.raises(InputError, match="no finding"):
        price_pins(request, [99], prepared=prepared)


def test_the_report_tells_areas_order_supplies_and_what_is_not_known(job):
    _request, prepared = job
    report = report_on(prepared)
    assert report.quantity == 5
    assert [a.treatment.sewn_order for a in report.areas] == sorted(
        a.treatment.sewn_order for a in report.areas
    )
    assert {a.region_id for a in report.areas} == {r.id for r in prepared.region_map.sewn_regions}
    one, many = report_on(prepared, quantity=1), report_on(prepared, quantity=50)
    assert many.order.total.band.p50 > 10 * one.order.total.band.p50
    assert many.supplies.bobbin_m.band.p50 == pytest.approx(50 * one.supplies.bobbin_m.band.p50)
    told = json.loads(json.dumps(report_object(report)))
    assert {s["name"] for s in told["swatches"]} >= {"pull swatch", "cover card"}
    for area in told["areas"]:
        figure = area["shows_through"]
        assert figure["p05"] <= figure["p50"] <= figure["p95"]
        assert figure["certainty"] in ("computed", "calibrated", "default")
        if area["contraction"] is not None:
            assert area["contraction"]["p95"] <= 30.0


def test_another_needle(fresh_home, badge):
    request = PrepareRequest(badge, "badge", 40.0, needle=65)
    assert prepare(request).setup.needle.blade_mm == 0.65
    with pytest.raises(InputError, match="not a needle size"):
        prepare(replace(request, needle=7))
