"""A picture through the stages to the written stitch list, timed stage by stage."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from firstpiece.planning.stage import plan_stitches
from firstpiece.tracing.stage import trace_artwork

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.picture import read_artwork
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.material import Setup
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

T = TypeVar("T")


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
    cards = CardDrawer()
    setup = cards.setup(garment or cards.default_garment)
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
