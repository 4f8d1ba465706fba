"""Results as JSON: versioned, complete, with bands, pins and remedies."""

from __future__ import annotations

import json
from decimal import Decimal

import numpy as np
from moneyed import Money

from firstpiece.files.result_json import (
    figure_object,
    findings_list,
    money_object,
    write_forecast_json,
    write_plan_json,
    write_quote_json,
)
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.forecast import Forecast, ForecastMap, Lump, RegionForecast, ThreadUse
from firstpiece.model.material import ThreadColor
from firstpiece.model.measured import Band, Certainty, Figure
from firstpiece.model.quote import Quote, QuoteLine
from firstpiece.model.stitch import Action, StitchPlan, StitchType, Treatment, Underlay

MINUTES = Figure(Band(11.0, 14.25, 18.123456), "min", Certainty.DEFAULT, "machine card")
EXACT = Figure(Band.exact(3.0), "m", Certainty.COMPUTED, "length of the path")
NOTE = Finding("small", Severity.NOTE, "A detail is small.")
BLOCK = Finding(
    "no-hoop", Severity.BLOCK, "No hoop clears it.", (1.234, -5.678), 400.0, 350.0, "mm", 3,
    (Remedy("Make it 300 mm high", "height", -1, 300.0),),
)  # fmt: skip


def a_plan() -> StitchPlan:
    treatment = Treatment(
        5, StitchType.SATIN, 0.5, 0.4, 0.0, (Underlay.CENTRE_RUN,), 0.2, 0, 0, 2, "it is narrow"
    )
    return StitchPlan(
        xy_mm=np.array([(0, 0), (3, 4), (3, 4)], float),
        action=[Action.STITCH, Action.STITCH, Action.END],
        thread=[0, 0, 0],
        region_id=[5, 5, -1],
        role=[0, 0, 0],
        threads=(ThreadColor("moss", (62, 138, 58), 26.7),),
        treatments=(treatment,),
        findings=(NOTE,),
    )


def test_a_plan_tells_every_treatment_with_its_reason():
    told = json.loads(write_plan_json(a_plan()))
    assert (told["version"], told["kind"]) == (1, "plan")
    assert (told["n_stitches"], told["width_mm"], told["height_mm"]) == (2, 3.0, 4.0)
    assert told["plan_id"] == a_plan().content_id()
    (treatment,) = told["treatments"]
    assert treatment == {
        "region_id": 5, "stitch_type": "satin", "angle_rad": 0.5, "spacing_mm": 0.4,
        "stitch_length_mm": 0.0, "underlay": ["centre run"], "pull_mm": 0.2, "thread": 0,
        "sewn_order": 0, "n_stitches": 2, "reason": "it is narrow", "explanation": "",
    }  # fmt: skip


def test_a_forecast_tells_bands_and_how_sure_they_are():
    forecast = Forecast(
        regions=(RegionForecast(5, 0.987654, MINUTES, 0.1, 0.2, 9.0),),
        lumps=(Lump(1.0, 2.0, 3, EXACT),),
        thread_use=(ThreadUse(0, EXACT),),
        bobbin_m=EXACT,
        sewing_minutes=MINUTES,
        n_stitches=2,
        n_trims=1,
        n_color_changes=0,
        layers=ForecastMap(np.zeros((1, 1), np.float32), 0, 0, 1, "layers"),
        findings=(NOTE, BLOCK),
    )
    told = json.loads(write_forecast_json(forecast))
    assert (told["version"], told["kind"]) == (1, "forecast")
    assert told["blocks_sewing"] is True
    assert told["sewing_minutes"] == {
        "p05": 11.0, "p50": 14.25, "p95": 18.1235, "unit": "min", "certainty": "default",
        "basis": "machine card",
    }  # fmt: skip
    assert told["regions"][0]["cover"] == 0.9877
    assert told["lumps"][0]["n_ties"] == 3
    assert [f["code"] for f in told["findings"]] == ["no-hoop", "small"]


def test_findings_carry_pin_place_and_remedies_worst_first():
    worst, mild = findings_list((NOTE, BLOCK))
    assert (worst["pin"], mild["pin"]) == (1, 2)
    assert worst["severity"] == "block"
    assert worst["where_mm"] == [1.23, -5.68]
    assert (worst["measured"], worst["limit"], worst["unit"]) == (400.0, 350.0, "mm")
    assert worst["remedies"] == [
        {"label": "Make it 300 mm high", "action": "height", "region_id": -1, "value": 300.0}
    ]
    assert mild["where_mm"] is None


def test_money_is_never_a_binary_fraction():
    assert money_object(Money(Decimal("0.10"), "GBP")) == {"amount": "0.10", "currency": "GBP"}


def test_a_quote_keeps_its_lines_and_its_pennies():
    def pounds(text: str) -> Money:
        return Money(Decimal(text), "GBP")

    quote = Quote(
        90.0, 96.4, 12, 7668, 15.1, (QuoteLine("Sewing", 12, pounds("7.28"), pounds("87.36")),),
        pounds("87.36"), pounds("17.47"), pounds("104.83"), pounds("7.28"), pounds("60.00"),
        Decimal("0.31319"),
    )  # fmt: skip
    told = json.loads(write_quote_json([quote]))
    assert (told["version"], told["kind"]) == (1, "quote")
    (line,) = told["quotes"][0]["lines"]
    assert line["amount"] == {"amount": "87.36", "currency": "GBP"}
    assert told["quotes"][0]["margin"] == 0.3132


def test_an_exact_figure_has_a_band_without_width():
    told = figure_object(EXACT)
    assert told["p05"] == told["p50"] == told["p95"] == 3.0
