"""What the paper of a job is drawn from, the widths of its letters, and the finished sheets."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array
from firstpiece.model.page import PAPER_MM
from firstpiece.units import MM_PER_POINT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import RGB, Setup
    from firstpiece.model.page import Page
    from firstpiece.model.paper_details import (
        NeedleCone,
        PaperColorway,
        SewoutPicture,
        SizeRow,
    )
    from firstpiece.model.question import Questions
    from firstpiece.model.quote import Quote
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan

# Signs that the shipped letters lack, and what is written instead.
_STAND_INS = {"−": "–", "≤": "<=", "≥": ">=", "≈": "~", "≠": "!=", "→": "->", "←": "<-", "∆": "Δ",
    "\t": " ", "\n": " ", "\r": " "}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class FontMetrics:
    """How far each letter carries the pen, so that text can be set without opening a font.

    Parameters
    ----------
    weights : tuple of str
        ``regular``, ``bold``, ``italic``.
    codes : (n,) int64
        Unicode code points that have a letter, rising.
    advance : (w, n) float64 [em]
        One row for each weight.
    """

    weights: tuple[str, ...]
    codes: NDArray[np.int64]
    advance: NDArray[np.float64]
    _widths: dict[str, dict[str, float]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        codes = frozen_array(self.codes, np.int64, (None,))
        object.__setattr__(self, "codes", codes)
        advance = frozen_array(self.advance, np.float64, (len(self.weights), len(codes)))
        object.__setattr__(self, "advance", advance)
        signs = [chr(code) for code in codes.tolist()]
        rows = zip(self.weights, advance.tolist(), strict=True)
        widths = {weight: dict(zip(signs, row, strict=True)) for weight, row in rows}
        object.__setattr__(self, "_widths", widths)

    def printable(self, text: str) -> str:
        """Return the text with every sign that has no letter replaced by a stand-in."""
        known = self._widths[self.weights[0]]
        swapped = "".join([_STAND_INS.get(sign, sign) for sign in text])
        return "".join(sign if sign in known else "?" for sign in swapped)

    def width_mm(self, text: str, size_pt: float, weight: str = "regular") -> float:
        """Return the width of a printable line of text [mm]; joined letters may be narrower."""
        widths = self._widths[weight]
        return sum([widths.get(sign, 0.6) for sign in text]) * size_pt * MM_PER_POINT


@dataclass(frozen=True, slots=True, eq=False)
class PaperJob:
    """Everything printed about one job.

    Parameters
    ----------
    title : str
        The job's name as the shop writes it.
    region_map, plan, forecast, setup
        The design, its stitches, what is expected of them, and what it is sewn on.
    metrics : FontMetrics
        From ``files.fonts``.
    quotes : tuple of Quote
        Prices to offer; may be empty.
    findings : tuple of Finding or None
        In the order of their numbers; None gathers and ranks those of design, plan and forecast.
    questions : Questions or None
        Open points for the question sheet.
    paper : str
        A key of ``model.page.PAPER_MM``.
    unit : str
        ``mm`` or ``in``, for the lengths that a person reads.
    revision : str
        Which version this is, as text ("revision 2").
    colorways : tuple of PaperColorway
        Other threads or garments the customer may choose.
    sewout : SewoutPicture or None
        The sew-out where it is already drawn; None draws it.
    sizes : tuple of SizeRow
        Pieces by garment size.
    tickets : tuple of str
        Codes of the pieces.
    needles : tuple of NeedleCone
        Empty puts the plan's threads on the first needles.
    head : str
        The machine that the needles are those of, in words; empty when the day is not planned.
    last_time : tuple of str
        What went wrong, or right, when this was sewn before.
    in_tiles : bool
        True adds the design at true size over several sheets when it is too large for one.
    """

    title: str
    region_map: RegionMap
    plan: StitchPlan
    forecast: Forecast
    setup: Setup
    metrics: FontMetrics
    quotes: tuple[Quote, ...] = ()
    findings: tuple[Finding, ...] | None = None
    questions: Questions | None = None
    paper: str = "A4"
    unit: str = "mm"
    revision: str = "revision 1"
    colorways: tuple[PaperColorway, ...] = ()
    sewout: SewoutPicture | None = None
    sizes: tuple[SizeRow, ...] = ()
    tickets: tuple[str, ...] = ()
    needles: tuple[NeedleCone, ...] = ()
    head: str = ""
    last_time: tuple[str, ...] = ()
    in_tiles: bool = False

    def __post_init__(self) -> None:
        if self.paper not in PAPER_MM:
            msg = f"{self.paper!r} is not a paper size known here"
            raise ValueError(msg)
        if self.unit not in {"mm", "in"}:
            msg = "lengths are shown in mm or in"
            raise ValueError(msg)
        for colorway in self.colorways:
            if len(colorway.threads) != len(self.plan.threads):
                msg = f"colourway {colorway.name!r} needs a thread for each of the plan's"
                raise ValueError(msg)


@dataclass(frozen=True, slots=True, eq=False)
class QuestionJob:
    """What the question sheet is drawn from; ``cloth_rgb`` is the garment's colour."""

    title: str
    region_map: RegionMap
    questions: Questions
    cloth_rgb: RGB
    metrics: FontMetrics
    paper: str = "A4"
    unit: str = "mm"


@dataclass(frozen=True, slots=True, eq=False)
class Papers:
    """The sheets of one job; ``questions`` is empty when nothing is open.

    ``choices`` is the contact sheet of colourways, empty when there is nothing to choose.
    """

    proof: tuple[Page, ...]
    run_sheet: tuple[Page, ...]
    questions: tuple[Page, ...] = ()
    choices: tuple[Page, ...] = ()
