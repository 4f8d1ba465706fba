"""Set-up of one job: hoop, needle, backing and topping that suit cloth, thread and size, and why.

Input: the garment's set-up card and the design's outline. Output: advice; where the card does
otherwise, a sentence says so. Nothing is changed here.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.hooping import smallest_hoop
from firstpiece.model.material import Needle, Weave
from firstpiece.units import needle_trade_number

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Hoop, Setup

THIN_TEX = 20.0
"""Below this a thread is thin: between 60 weight (about 17 tex) and 40 weight (about 27)."""

THIN_NEEDLE = 65
"""Thin thread goes with a 65/9 needle (common practice, no source)."""

STRETCHY = (Weave.KNIT, Weave.FLEECE)
CUT_AWAY = "cut away"


@dataclass(frozen=True, slots=True)
class SetUpAdvice:
    """What to put on the machine for one job.

    ``hoop`` is None when none clears the design: then it must not be sewn. ``notes`` are for the
    person at the machine.
    """

    hoop: Hoop | None
    needle: Needle
    backing: str
    topping: str
    notes: tuple[str, ...]


def advise_set_up(setup: Setup, places: NDArray[np.float64]) -> SetUpAdvice:
    """Return hoop, needle, backing and topping for a design on a set-up.

    Parameters
    ----------
    setup : Setup
    places : (n, 2) float64 [mm]
        The design's outline round the hoop's centre, see ``model.hooping``.
    """
    hoop = smallest_hoop(places, setup.hoops)
    needle = choose_needle(setup)
    notes = [_no_hoop(setup, places)] if hoop is None else []
    if needle != setup.needle:
        notes.append(
            _("{thread}: put in a {needle} needle instead of {usual}").format(
                thread=setup.thread.label,
                needle=needle_trade_number(needle.metric_size),
                usual=needle_trade_number(setup.needle.metric_size),
            )
        )
    if setup.fabric.weave in STRETCHY:
        notes.append(_("hoop it taut, never stretched: it would draw together when let go"))
        if setup.backing.removal != CUT_AWAY:
            notes.append(
                _("{cloth} stretches: a cutaway backing holds it, {backing} may not").format(
                    cloth=setup.fabric.label, backing=setup.backing.label
                )
            )
    topping = _("water-soluble film") if setup.fabric.needs_topping else ""
    return SetUpAdvice(hoop, needle, setup.backing.label, topping, tuple(notes))


def choose_needle(setup: Setup) -> Needle:
    """Return the garment's needle, or a thinner one with the same point for thin thread."""
    usual = setup.needle
    if setup.thread.tex.value < THIN_TEX and usual.metric_size > THIN_NEEDLE:
        return Needle(THIN_NEEDLE, usual.point)
    return usual


def _no_hoop(setup: Setup, places: NDArray[np.float64]) -> str:
    size_mm = np.ptp(places, axis=0)
    largest = setup.hoops[-1].label if setup.hoops else _("none")
    return _("no hoop clears {width:.0f} × {height:.0f} mm; the largest is {hoop}").format(
        width=size_mm[0], height=size_mm[1], hoop=largest
    )
