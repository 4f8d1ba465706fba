"""The written picture shows the stitches where they come to lie."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
from PIL import Image

from firstpiece.shop.outputs import as_sewn, make_outputs
from firstpiece.shop.prepare import prepare_picture


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
