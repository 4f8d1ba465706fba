"""What must hold for any picture that goes through the chain, and which pictures are run when."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.chain import judge, run_chain
from benchmarks.sample import read_sample

from firstpiece.files.stitch_table import read_stitch_csv
from firstpiece.model.region import region_faults
from firstpiece.model.stitch import Action

SAMPLE = read_sample()


def spread(every: int) -> list[object]:
    """Return the sample as parameters, all but each nth marked slow."""
    return [
        pytest.param(d, id=d.name, marks=[] if i % every == 0 else [pytest.mark.slow])
        for i, d in enumerate(SAMPLE)
    ]


def come_through(design, form: str) -> None:
    """Run the chain and check what must hold for any picture."""
    data, name = design.picture(form)
    sewn = run_chain(data, name=name, height_mm=design.height_mm)
    assert region_faults(sewn.region_map) == ()
    plan = sewn.plan
    assert plan.n_stitches > 50
    assert plan.action[-1] == Action.END
    assert max(np.abs(plan.xy_mm[plan.is_stitch][:, 1]).max(), 1) <= design.height_mm / 2 + 1.5
    read_back = read_stitch_csv(sewn.csv_text, sewn.threads_text)
    assert np.array_equal(read_back.action, plan.action)
    assert np.abs(read_back.xy_mm - plan.xy_mm).max() <= 0.0051
    forecast, quote, questions = judge(sewn)
    assert forecast.n_stitches == plan.n_stitches
    assert forecast.sewing_minutes.band.p50 > 0
    assert quote.total.amount > 0
    assert questions.message
