"""A picture through the stages to the written stitch list, timed stage by stage."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from firstpiece.briefing.stage import list_questions
from firstpiece.files.material_card import CardDrawer
from firstpiece.files.picture import read_artwork
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.forecasting.stage import forecast_sewout
from firstpiece.planning.stage import plan_stitches
from firstpiece.pricing.stage import price_job
from firstpiece.tracing.stage import trace_artwork

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Setup
    from firstpiece.model.question import Questions
    from firstpiece.model.quote import Quote
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

T = TypeVar("T")
CARDS = CardDrawer()


@dataclass
class Sewn:
    """What came out, and the seconds of each stage."""

    region_map: RegionMap
    plan: StitchPlan
    setup: Setup
    csv_text: str
    threads_text: str
    seconds: dict[str, float] = field(default_factory=dict)


def run_chain(data: bytes, *, name: str, height_mm: float, garment: str = "") -> Sewn:
    """Return the written stitch list of a picture at a height on a garment."""
    setup = CARDS.setup(garment or CARDS.default_garment)
    seconds: dict[str, float] = {}

    def timed(stage: str, call: Callable[[], T]) -> T:
        begin = time.perf_counter()
        value = call()
        seconds[stage] = time.perf_counter() - begin
        return value

    artwork = timed("read", lambda: read_artwork(data, name=name))
    region_map = timed(
        "trace", lambda: trace_artwork(artwork, height_mm=height_mm, rack=setup.thread.colors)
    )
    plan = timed("plan", lambda: plan_stitches(region_map, setup=setup))
    csv_text, threads_text = timed(
        "write", lambda: (write_stitch_csv(plan), write_threads_json(plan))
    )
    return Sewn(region_map, plan, setup, csv_text, threads_text, seconds)


def judge(sewn: Sewn, *, quantity: int = 12) -> tuple[Forecast, Quote, Questions]:
    """Return forecast, price and open questions of what was sewn, timed into ``sewn.seconds``."""
    begin = time.perf_counter()
    forecast = forecast_sewout(sewn.plan, region_map=sewn.region_map, setup=sewn.setup)
    sewn.seconds["forecast"] = time.perf_counter() - begin
    size = (sewn.region_map.width_mm, sewn.region_map.height_mm)
    card = CARDS.prices()
    quote = price_job(forecast, setup=sewn.setup, card=card, size_mm=size, quantity=quantity)
    begin = time.perf_counter()
    questions = list_questions(sewn.region_map, setup=sewn.setup)
    sewn.seconds["ask"] = time.perf_counter() - begin
    return forecast, quote, questions
