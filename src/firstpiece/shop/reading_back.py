"""Designs the shop already has as stitches: read, understood, forecast and priced like any other.

In: the bytes of a stitch list, a motion program or records that a layout describes. Out: a plan
with guessed areas, and all that follows from it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.motion_program import MotionWords, read_motion_program
from firstpiece.files.record_layout import read_layout
from firstpiece.files.record_reading import read_program
from firstpiece.files.stitch_table import HEADER, read_stitch_csv, read_threads
from firstpiece.forecasting import stage as forecasting
from firstpiece.pricing import stage as pricing
from firstpiece.shop.cards import open_cards
from firstpiece.shop.stitched_areas import guess_areas

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Setup, ThreadColor
    from firstpiece.model.quote import Quote
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

MOST_BYTES = 256_000_000
LARGEST_MM = 1000.0
FORMATS = ("csv", "motion", "records")


@dataclass(frozen=True, slots=True)
class StitchFile:
    """A file to read.

    Parameters
    ----------
    data : bytes
    name : str
    kind : str
        One of ``FORMATS``; empty finds out from the text.
    threads_json : str
        The text of ``threads.json`` beside a stitch list; empty makes grey threads up.
    layout : str
        The text of the record layout; needed for records.
    words : MotionWords
        What the M words of a motion program mean.
    """

    data: bytes
    name: str
    kind: str = ""
    threads_json: str = ""
    layout: str = ""
    words: MotionWords = field(default_factory=MotionWords)


@dataclass(frozen=True, slots=True, eq=False)
class ReadBack:
    """A design read from stitches, with all that was worked out for it."""

    name: str
    plan: StitchPlan
    region_map: RegionMap
    setup: Setup
    forecast: Forecast
    quote: Quote

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box round the thread [mm]."""
        return (self.region_map.width_mm, self.region_map.height_mm)


def read_stitches(file: StitchFile) -> StitchPlan:
    """Return the plan of a file; its areas are not known yet.

    Raises
    ------
    InputError
        With the line or the byte at fault.
    """
    if len(file.data) > MOST_BYTES:
        raise InputError(
            _("the file is larger than {n} MB").format(n=MOST_BYTES // 1_000_000),
            where=file.name,
            remedy=_("split the design"),
        )
    kind = file.kind or _find_kind(file)
    if kind == "records":
        layout = read_layout(file.layout, name=_("layout"))
        threads = _threads(file)
        return read_program(file.data, layout, threads=threads)
    text = _text(file)
    if kind == "motion":
        return read_motion_program(text, file.words, threads=_threads(file))
    return read_stitch_csv(text, file.threads_json or _made_up_threads(text))


def read_back(
    file: StitchFile,
    *,
    garment: str = "",
    quantity: int = 1,
    cards: CardDrawer | None = None,
) -> ReadBack:
    """Return a file's design, forecast and priced on a garment.

    Parameters
    ----------
    file : StitchFile
    garment : str
        Card name; empty takes the shop's default.
    quantity : int
        Pieces to quote.
    cards : CardDrawer or None
        None opens the shop's own.

    Raises
    ------
    InputError, CardError
        When the file cannot be read or holds nothing to sew.
    """
    cards = cards or open_cards()
    setup = cards.setup(garment or cards.default_garment)
    plan = read_stitches(file)
    if not len(plan.sewn_segments()):
        raise InputError(
            _("there is no stitch in this file"),
            where=file.name,
            remedy=_("check that it is the right file"),
        )
    _check_size(plan, file.name)
    plan, region_map = guess_areas(plan, thread_mm=setup.thread.laid_width_mm)
    forecast = forecasting.forecast_sewout(plan, region_map=region_map, setup=setup)
    size = (region_map.width_mm, region_map.height_mm)
    quote = pricing.price_job(
        forecast, setup=setup, card=cards.prices(), size_mm=size, quantity=quantity
    )
    return ReadBack(file.name, plan, region_map, setup, forecast, quote)


def _check_size(plan: StitchPlan, name: str) -> None:
    """Refuse sizes that no machine sews: the unit or the layout is not the file's."""
    width, height = plan.size_mm
    if not max(width, height) <= LARGEST_MM:
        raise InputError(
            _("the design would be {w:.0f} × {h:.0f} mm").format(w=width, h=height),
            where=name,
            remedy=_("check its unit or its layout"),
        )


def _find_kind(file: StitchFile) -> str:
    if file.layout:
        return "records"
    start = file.data[:4096].decode("utf-8", "replace").lstrip("\ufeff \r\n\t")
    if start.startswith(HEADER):
        return "csv"
    if start.startswith("%") or "G21" in start or "G20" in start:
        return "motion"
    raise InputError(
        _("this is neither a stitch list nor a motion program"),
        where=file.name,
        remedy=_("say that it is csv or motion, or describe its records in a layout"),
    )


def _text(file: StitchFile) -> str:
    try:
        return file.data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError(
            _("the text breaks off at byte {n}").format(n=fault.start),
            where=file.name,
            remedy=_("save it as UTF-8"),
        ) from fault


def _threads(file: StitchFile) -> tuple[ThreadColor, ...]:
    return read_threads(file.threads_json) if file.threads_json else ()


def _made_up_threads(text: str) -> str:
    """Return grey threads for a stitch list that came without its threads."""
    numbers = {line.rsplit(",", 1)[-1] for line in text.split("\n")[1:] if "," in line}
    highest = max((int(n) for n in numbers if n.strip().isdigit()), default=0)
    entries = [
        {"name": _("thread {n}").format(n=i + 1), "hex": "#808080", "tex": 26.7}
        for i in range(min(highest, 999) + 1)
    ]
    return json.dumps(entries)
