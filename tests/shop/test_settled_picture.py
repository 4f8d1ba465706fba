"""The picture shows the forecast: settled stitches, cloth coming through, pucker when asked."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
from PIL import Image

from firstpiece.forecasting.seen_thread import seen_colors
from firstpiece.forecasting.show_through import linear_rgb
from firstpiece.paperwork.pucker_shading import shade_pucker
from firstpiece.shop.outputs import make_outputs
from firstpiece.shop.prepare import prepare_picture
from firstpiece.shop.sewout_drawing import as_sewn, draw_forecast, draw_with_pucker


def picture(files):
    return np.asarray(Image.open(BytesIO(files["sewout.png"])).convert("RGB")).astype(int)


def test_the_picture_is_of_the_settled_plan(fresh_home, badge):
    job = prepare_picture(badge, name="badge", height_mm=40.0, garment="tee-white")
    settled = job.forecast.settled_mm
    np.testing.assert_array_equal(as_sewn(job).xy_mm, settled)
    moved = np.hypot(*(settled - job.plan.xy_mm)[job.plan.is_stitch].T)
    assert 0.05 < moved.max() < 1.0
    as_planned = replace(job, forecast=replace(job.forecast, settled_mm=None))
    assert as_sewn(as_planned) is job.plan
    difference = np.abs(picture(make_outputs(job)) - picture(make_outputs(as_planned)))
    assert difference.max() > 30
    # The stitch list still holds the needle's places.
    assert make_outputs(job)["stitches.csv"] == make_outputs(as_planned)["stitches.csv"]


def test_cloth_comes_through_thin_light_thread(fresh_home, badge):
    on_black = prepare_picture(badge, name="badge", height_mm=40.0, garment="tee-black")
    colors = seen_colors(on_black.plan, on_black.forecast.layers, on_black.setup)
    threads = np.array([linear_rgb(t.rgb) for t in on_black.plan.threads])
    own = threads[on_black.plan.thread]
    # Black cloth can only darken a thread, and light thread far more than dark one.
    assert (colors <= own + 1e-9).all()
    light = own.mean(axis=1) > 0.3
    if light.any():
        assert (own - colors)[light].mean() > 0.01
    white = replace(on_black.setup, garment=replace(on_black.setup.garment, rgb=(255, 255, 255)))
    brighter = seen_colors(on_black.plan, on_black.forecast.layers, white)
    assert (brighter >= colors - 1e-9).all()
    pixels, window = draw_forecast(on_black, pixels_per_mm=4.0)
    assert pixels.shape[1] == round(window[2] * 4.0)


def test_pucker_is_drawn_only_when_asked_and_says_what_it_is(fresh_home, badge):
    job = prepare_picture(badge, name="badge", height_mm=40.0, garment="tee-white")
    plain, window = draw_forecast(job, pixels_per_mm=4.0)
    shaded = draw_with_pucker(job, pixels_per_mm=4.0)
    # The strip with the words that it is an illustration lies below.
    assert shaded.shape[0] > plain.shape[0]
    strip = shaded[plain.shape[0] :].astype(int)
    assert strip.min() < 100 < strip.max()
    changed = np.abs(shaded[: plain.shape[0]].astype(int) - plain).max(axis=2)
    assert changed.max() > 8
    assert changed[:4, :4].max() <= 8
    flat = shade_pucker(plain, window, [])
    np.testing.assert_array_equal(flat, plain)
