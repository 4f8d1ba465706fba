"""The tasks of the local page, done by a worker: prepare, price, fit a budget, try remedies.

Input: a ``Request`` of plain values. Output: files in the run's folder, written all together at the
end, so that a page never sees half a result. Heavy imports happen here, inside the worker.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

from firstpiece.files.material_card import CardDrawer
from firstpiece.files.safe_write import write_together
from firstpiece.web.asking import HIGHEST_MM, LOWEST_MM
from firstpiece.web.run_files import BUDGET, FILES, LADDER, REMEDIES, REVISION, TRAVELLER
from firstpiece.web.wishes import read_wishes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from firstpiece.model.stitch import StitchSpec
    from firstpiece.running.runner import Context
    from firstpiece.shop.prepare import Prepared, PrepareRequest
    from firstpiece.shop.remedies import PricedRemedy
    from firstpiece.web.job_folder import Asked

PREPARE, PRICES, FIT, TRIES = "prepare", "prices", "fit", "remedies"
CLEAN, WAYS = "clean", "ways"

MOST_PRICED = 8
"""Findings whose remedies are tried unasked; each costs a plan and a forecast."""

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
    budget : str
        An amount for one piece, as typed.
    number : int
        The job's.
    area : int
        The area whose ways are drawn.
    """

    folder: Path
    picture: Path
    label: str
    asked: Asked
    cards: Path
    heights_mm: tuple[float, ...] = ()
    quantities: tuple[int, ...] = ()
    budget: str = ""
    number: int = 0
    area: int = -1


def prepare_run(context: Context, request: Request) -> None:
    """Run the whole chain on the picture and write everything the traveller shows."""
    from firstpiece.files.picture import read_artwork
    from firstpiece.shop.job_design import revision_of
    from firstpiece.shop.outputs import make_outputs, make_questions
    from firstpiece.shop.prepare import prepare
    from firstpiece.web import result_object
    from firstpiece.web.area_work import clean_areas

    tell = _teller(context)
    data = request.picture.read_bytes()
    # First of all, so that the person sees that the right picture is being worked on.
    artwork = read_artwork(data, name=request.label)
    write_together(request.folder, result_object.original_picture(artwork))
    wanted = request_of(request, data)
    # Then the areas, which can be worked on while their stitches are planned.
    write_together(request.folder, clean_areas(wanted, report=tell))
    prepared = prepare(
        wanted,
        # Its last word is that it is done, which the drawing below is not yet.
        report=lambda share, words: tell(CHAIN_SHARE * share, words if share < 1.0 else ""),
    )
    downloads = make_outputs(prepared, report=tell)
    tell(0.99, _("Drawing the questions"))
    downloads |= make_questions(
        prepared.region_map, prepared.questions, setup=prepared.setup, title=request.label
    )
    pictures = result_object.traveller_pictures(prepared, downloads)
    content = result_object.traveller_object(
        prepared, downloads, offer_message=_offer(request, prepared)
    )
    revision = revision_of(wanted, prepared, hashlib.sha256(data).hexdigest())
    tell(1.0, _("Done"))
    write_together(request.folder / FILES, downloads)
    written = {TRAVELLER: _text(content), REVISION: _text(revision.figures())}
    write_together(request.folder, {**pictures, **written})


def _offer(request: Request, prepared: Prepared) -> str:
    """Return the message that goes with the price, for a job that is in the store."""
    from firstpiece.errors import JobError
    from firstpiece.shop.job_book import read_job
    from firstpiece.shop.job_order import Quoted
    from firstpiece.shop.offer_message import write_offer

    try:
        job = read_job(request.number)
    except JobError:
        return ""
    return write_offer(Quoted(job, prepared.quote.quantity, prepared.quote, prepared))


def request_of(request: Request, data: bytes) -> PrepareRequest:
    """Return what the chain is asked for: what was typed, over the wishes of a revision, if any."""
    from firstpiece.model.edit import NO_EDITS, SwapThread
    from firstpiece.model.region import TraceOptions
    from firstpiece.shop.job_book import read_job
    from firstpiece.shop.job_design import revision_request
    from firstpiece.shop.prepare import PrepareRequest
    from firstpiece.shop.request_edits import with_edit

    asked = request.asked
    options, specs, edits = TraceOptions(n_colors=asked.n_colors), specs_of(asked), NO_EDITS
    if asked.revision:
        kept = revision_request(read_job(request.number), number=asked.revision)
        # Another number of colours makes other areas, for which nobody wished anything.
        same_areas = asked.n_colors == kept.options.n_colors
        options = replace(kept.options, n_colors=asked.n_colors)
        specs, edits = {**(kept.specs if same_areas else {}), **specs}, kept.edits
    wishes = read_wishes(asked.wishes)
    if wishes is not None:
        # They were written over all of the above.
        specs, edits = wishes.specs, wishes.edits
    bare = tuple(rgb for rgb in asked.bare_colors if rgb not in options.bare_colors)
    by_hand = {edit.old for edit in edits.edits if isinstance(edit, SwapThread)}
    swaps = [SwapThread(old, new) for old, new in asked.merged if old not in by_hand]
    wanted = PrepareRequest(
        data=data,
        name=request.label,
        height_mm=asked.height_mm,
        garment=asked.garment,
        thread=asked.thread,
        quantity=asked.quantity,
        options=replace(options, bare_colors=(*options.bare_colors, *bare)),
        specs=specs,
        cards=CardDrawer(request.cards),
        edits=edits,
        backing=wishes.backing if wishes else "",
        needle=wishes.needle if wishes else 0,
        true_shape=wishes.true_shape if wishes else False,
    )
    return with_edit(wanted, *swaps)


def specs_of(asked: Asked) -> dict[int, StitchSpec]:
    """Return the wishes by area that remedies left behind."""
    from firstpiece.model.stitch import StitchSpec

    # An area is a fill or a satin column; the wish for the other one is not looked at.
    return {
        region: StitchSpec(row_spacing_mm=mm, column_spacing_mm=mm)
        for region, mm in asked.row_spacing_mm
    }


def price_run(context: Context, request: Request) -> None:
    """Plan the picture at every height; the table grows by each, its picture comes at the end."""
    from firstpiece.files.result_json import write_json
    from firstpiece.shop.job_objects import ladder_object
    from firstpiece.shop.ladder import price_ladder
    from firstpiece.shop.outputs import make_ladder

    asked, tell = request.asked, _teller(context)
    data = request.picture.read_bytes()
    wanted = request_of(request, data)
    heights = request.heights_mm or heights_around(asked.height_mm)
    # The height that was asked for is planned already, so its row is there at once.
    waiting = sorted(set(heights), key=lambda mm: (mm != asked.height_mm, mm))
    n_heights, ladder = len(waiting), None
    while waiting:
        height_mm = waiting.pop(0)
        done = n_heights - len(waiting) - 1
        more = price_ladder(
            data,
            name=request.label,
            heights_mm=(height_mm,),
            quantities=request.quantities or quantities_around(asked.quantity),
            garment=asked.garment,
            thread=asked.thread,
            options=wanted.options,
            specs=wanted.specs,
            edits=wanted.edits,
            cards=CardDrawer(request.cards),
            report=_part_of(tell, done, n_heights),
        )
        rungs = (*(ladder.rungs if ladder else ()), *more.rungs)
        ladder = replace(more, rungs=tuple(sorted(rungs, key=lambda rung: rung.height_mm)))
        so_far = {**ladder_object(ladder), "waiting_mm": sorted(waiting)}
        write_together(request.folder, {LADDER: write_json("ladder", so_far).encode()})
    assert ladder is not None
    write_together(request.folder, make_ladder(ladder))


def _part_of(
    tell: Callable[[float, str], None], done: int, n_parts: int
) -> Callable[[float, str], None]:
    """Return a report of one part of several, told as a share of them all."""
    return lambda share, words: tell((done + share) / n_parts, words)


def remedies_run(context: Context, request: Request) -> None:
    """Try every remedy of the findings that matter most; each is written as it is known."""
    from firstpiece.model.finding import rank_findings
    from firstpiece.shop.prepare import prepare
    from firstpiece.shop.remedies import apply_remedy, price_remedies
    from firstpiece.web.wishes import asked_after

    tell = _teller(context)
    wanted = request_of(request, request.picture.read_bytes())
    prepared = prepare(wanted)
    findings = rank_findings(prepared.findings)[:MOST_PRICED]
    tried: dict[str, list[dict[str, Any] | None]] = {}
    write_together(request.folder, {REMEDIES: _text(tried)})
    for place, finding in enumerate(findings):
        tell(place / len(findings), _("Trying the remedies of finding {n}").format(n=place + 1))
        entries: list[dict[str, Any] | None] = []
        for priced in price_remedies(wanted, finding, prepared=prepared):
            if priced.after is None:
                entries.append(None)
                continue
            after = apply_remedy(wanted, priced.remedy, prepared=prepared)
            asked = asked_after(request.asked, after).to_object()
            entries.append({**priced_object(priced), "asked": asked})
        tried[str(place + 1)] = entries
        write_together(request.folder, {REMEDIES: _text(tried)})


def priced_object(priced: PricedRemedy) -> dict[str, Any]:
    """Return what a remedy changes per piece, as plain values."""
    from firstpiece.files.result_json import money_object

    return {
        "answers": priced.answers,
        "stitches": priced.stitches,
        "minutes": round(priced.minutes, 2),
        "each": money_object(priced.each),
        "left": None if priced.left is None else round(priced.left, 4),
    }


def fit_run(context: Context, request: Request) -> None:
    """Look for the largest height whose price fits the budget, and write every height tried."""
    from firstpiece.shop.budget import fit_budget, fit_object
    from firstpiece.shop.job_order import read_price

    wanted = request_of(request, request.picture.read_bytes())
    fit = fit_budget(wanted, budget=read_price(request.budget), report=_teller(context))
    write_together(request.folder, {BUDGET: _text(fit_object(fit))})


def _teller(context: Context) -> Callable[[float, str], None]:
    """Return a report that also stops the work once the person has stopped it."""

    def tell(fraction: float, words: str) -> None:
        context.check()
        context.report(fraction, words)

    return tell


def clean_run(context: Context, request: Request) -> None:
    """Carry out the edits on the cleaned areas and write them, without planning anything."""
    from firstpiece.web.area_work import clean_areas

    wanted = request_of(request, request.picture.read_bytes())
    write_together(request.folder, clean_areas(wanted, report=_teller(context)))


def ways_run(context: Context, request: Request) -> None:
    """Draw one area as it would look sewn in each of several ways."""
    from firstpiece.web.area_work import draw_ways

    wanted = request_of(request, request.picture.read_bytes())
    write_together(request.folder, draw_ways(wanted, request.area, report=_teller(context)))


TASKS: dict[str, Callable[[Context, Request], None]] = {
    PREPARE: prepare_run,
    PRICES: price_run,
    FIT: fit_run,
    TRIES: remedies_run,
    CLEAN: clean_run,
    WAYS: ways_run,
}


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
