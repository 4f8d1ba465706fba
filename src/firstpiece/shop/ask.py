"""Ask: what the picture leaves open, before anything is planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.shop.cards import open_cards
from firstpiece.shop.lookup import open_shelf
from firstpiece.shop.prepare import PrepareRequest, ask_questions, read_design

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.material import Setup
    from firstpiece.model.question import Questions
    from firstpiece.model.region import RegionMap

USUAL_HEIGHT_MM = 90.0
"""Assumed when no height was said yet; the questions name it."""


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """The open questions of a picture, and the design they are about."""

    artwork: Artwork
    region_map: RegionMap
    setup: Setup
    questions: Questions


def ask_customer(
    request: PrepareRequest, *, report: Callable[[float, str], None] | None = None
) -> Asked:
    """Return the questions a picture leaves open at one height on one garment.

    Parameters
    ----------
    request : PrepareRequest
        Quantity and wishes by area play no part.
    report : callable or None
        ``report(fraction, words)``; may raise to stop.

    Raises
    ------
    PictureError, LengthError, CardError
    """
    tell = report or (lambda _fraction, _words: None)
    cards = request.cards or open_cards()
    setup = cards.setup(request.garment or cards.default_garment, thread=request.thread)
    shelf = open_shelf()
    artwork, design = read_design(request, setup=setup, shelf=shelf, report=tell)
    questions = ask_questions(design, setup=setup, shelf=shelf)
    return Asked(artwork, design.value, setup, questions)
