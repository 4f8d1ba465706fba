"""The two tasks of the local page, done by a worker: prepare a picture, price several heights.

Input: a ``Request`` of plain values. Output: files in the run's folder, written all together at the
end, so that a page never sees half a result. Heavy imports happen here, inside the worker.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.safe_write import write_together
from firstpiece.web.asking import HIGHEST_MM, LOWEST_MM
from firstpiece.web.run_files import FILES, TRAVELLER

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from firstpiece.model.stitch import StitchSpec
    from firstpiece.running.runner import Context
    from firstpiece.web.job_folder import Asked

PREPARE, PRICES = "prepare", "prices"

CHAIN_SHARE = 0.75
"""Where the bar stands when the chain is done and drawing begins (rough share of the time)."""


@dataclass(frozen=True, slots=True)
class Request:
    """What a worker needs.

    Parameters
    ----------
    folder : pathlib.Path
        The run's folder; results go here.
    picture : pathlib.Path
        The picture as it arrived.
    label : str
    asked : Asked
    cards : pathlib.Path
        The shop's own cards; need not exist.
    heights_mm : tuple of float [mm]
    quantities : tuple of int
        Of the price table; empty chooses them around what was asked.
    """

    folder: Path
    picture: Path
    label: str
    asked: Asked
    cards: Path
    heights_mm: tuple[float, ...] = ()
    quantities: tuple[int, ...] = ()


def prepare_run(context: Context, request: Request) -> None:
    """Run the whole chain on the picture and write everything the traveller shows."""
    from firstpiece.files.picture import read_artwork
    from firstpiece.model.region import TraceOptions
    from firstpiece.shop.outputs import make_outputs, make_questions
    from firstpiece.shop.prepare import prepare_picture
    from firstpiece.web import result_object

    asked, tell = request.asked, _teller(context)
    data = request.picture.read_bytes()
    # First of all, so that the person sees that the right picture is being worked on.
    artwork = read_artwork(data, name=request.label)
    write_together(request.folder, result_object.original_picture(artwork))
    prepared = prepare_picture(
        data,
        name=request.label,
        height_mm=asked.height_mm,
        garment=asked.garment,
        thread=asked.thread,
        quantity=asked.quantity,
        options=TraceOptions(n_colors=asked.n_colors),
        specs=specs_of(asked),
        cards=CardDrawer(request.cards),
        # Its last word is that it is done, which the drawing below is not yet.
        report=lambda share, words: tell(CHAIN_SHARE * share, words if share < 1.0 else ""),
    )
    downloads = make_outputs(prepared, report=tell)
    tell(0.99, _("Drawing the questions"))
    downloads |= make_questions(
        prepared.region_map, prepared.questions, setup=prepared.setup, title=request.label
    )
    pictures = result_object.traveller_pictures(prepared, downloads)
    content = result_object.traveller_object(prepared, downloads)
    tell(1.0, _("Done"))
    write_together(request.folder / FILES, downloads)
    write_together(request.folder, {**pictures, TRAVELLER: _text(content)})


def specs_of(asked: Asked) -> dict[int, StitchSpec]:
    """Return the wishes by area that remedies left behind."""
    from firstpiece.model.stitch import StitchSpec

    # An area is a fill or a satin column; the wish for the other one is not looked at.
    return {
        region: StitchSpec(row_spacing_mm=mm, column_spacing_mm=mm)
        for region, mm in asked.row_spacing_mm
    }


def price_run(context: Context, request: Request) -> None:
    """Plan the picture at every height and write the price table and its picture."""
    from firstpiece.model.region import TraceOptions
    from firstpiece.shop.ladder import price_ladder
    from firstpiece.shop.outputs import make_ladder

    asked = request.asked
    ladder = price_ladder(
        request.picture.read_bytes(),
        name=request.label,
        heights_mm=request.heights_mm or heights_around(asked.height_mm),
        quantities=request.quantities or quantities_around(asked.quantity),
        garment=asked.garment,
        thread=asked.thread,
        options=TraceOptions(n_colors=asked.n_colors),
        cards=CardDrawer(request.cards),
        report=_teller(context),
    )
    write_together(request.folder, make_ladder(ladder))


def _teller(context: Context) -> Callable[[float, str], None]:
    """Return a report that also stops the work once the person has stopped it."""

    def tell(fraction: float, words: str) -> None:
        context.check()
        context.report(fraction, words)

    return tell


TASKS: dict[str, Callable[[Context, Request], None]] = {PREPARE: prepare_run, PRICES: price_run}


def heights_around(height_mm: float) -> tuple[float, ...]:
    """Return up to four heights worth comparing: two thirds, as asked, and two larger, rounded."""
    step_mm = 5.0 if height_mm >= 30.0 else 1.0
    rounded = (step_mm * round(height_mm * share / step_mm) for share in (0.66, 1.35, 1.8))
    sewable = (h for h in rounded if LOWEST_MM <= h <= HIGHEST_MM)
    return tuple(sorted({height_mm, *sewable}))


def quantities_around(quantity: int) -> tuple[int, ...]:
    """Return the numbers of pieces shops are asked for, with the one of this job among them."""
    return tuple(sorted({1, 12, 48, quantity}))


def _text(content: dict[str, Any]) -> bytes:
    return json.dumps(content, ensure_ascii=False, indent=1).encode()
