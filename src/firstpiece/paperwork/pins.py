"""Findings as numbered pins: the same numbers on proof, run sheet and screen.

In: the findings of tracing, planning and forecasting. Out: their order, their numbers, and small
numbered discs on a drawing, pushed apart where they would cover each other.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.finding import Severity, rank_findings
from firstpiece.model.page import INK
from firstpiece.paperwork.flow import Strip
from firstpiece.paperwork.sheet import ACCENT, BODY, MARGIN_MM, QUIET, Face, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.paper import FontMetrics, PaperJob
    from firstpiece.paperwork.sheet import Sheet

PIN_MM = 2.1
MOST_SHOWN = 24
_TURNS = 12


def number_findings(job: PaperJob) -> tuple[Finding, ...]:
    """Return every finding once; a finding's number is its place, counted from 1."""
    if job.findings is not None:
        return job.findings
    everything = (*job.region_map.findings, *job.plan.findings, *job.forecast.findings)
    return rank_findings(tuple(dict.fromkeys(everything)))


def spread_pins(
    places: Sequence[tuple[float, float]], apart_mm: float
) -> list[tuple[float, float]]:
    """Return where to draw pins so that none lies closer to another than ``apart_mm``.

    The first keeps its place; a later one moves outwards in twelve directions until it is free.
    """
    put: list[tuple[float, float]] = []
    for x, y in places:
        put.append(_free_place(x, y, put, apart_mm))
    return put


def _free_place(
    x: float, y: float, taken: Sequence[tuple[float, float]], apart: float
) -> tuple[float, float]:
    for ring in range(40):
        for turn in range(_TURNS if ring else 1):
            angle = 2 * math.pi * turn / _TURNS
            spot = (
                x + ring * apart * 0.5 * math.cos(angle),
                y + ring * apart * 0.5 * math.sin(angle),
            )
            if all(math.dist(spot, other) >= apart for other in taken):
                return spot
    return (x, y)


def disc(x: float, y: float, radius: float) -> NDArray[np.float64]:
    """Return a circle as a ring, (36, 2) float64 [mm]."""
    angle = np.linspace(0.0, 2 * np.pi, 36, endpoint=False)
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


def draw_pin(sheet: Sheet, x: float, y: float, mark: str, radius: float = PIN_MM) -> None:
    """Draw a white disc with a number or letter in it."""
    sheet.shape([disc(x, y, radius)], fill=(255, 255, 255), stroke=INK, stroke_mm=0.2)
    size = (8.0 if len(mark) < 2 else 6.8) * radius / PIN_MM
    sheet.text(x, y - 0.125 * size, mark, Face(size, "bold", align="centre"))


def draw_pins(
    sheet: Sheet,
    findings: Sequence[Finding],
    origin: tuple[float, float],
    scale: float,
    radius: float = PIN_MM,
) -> None:
    """Draw the pins of findings that have a place; ``origin`` is the design's centre."""
    placed = [(i, f.where_mm) for i, f in enumerate(findings[:MOST_SHOWN]) if f.where_mm]
    spots = [(origin[0] + scale * p[0], origin[1] + scale * p[1]) for _i, p in placed]
    draw_spread(sheet, spots, [str(i + 1) for i, _p in placed], radius)


def draw_spread(
    sheet: Sheet, spots: Sequence[tuple[float, float]], marks: Sequence[str], radius: float
) -> None:
    """Draw marked discs at their spots, pushed apart, with a line back to where each belongs."""
    put = spread_pins(spots, 2.1 * radius)
    for spot, at in zip(spots, put, strict=True):
        if math.dist(spot, at) > 0.1:
            sheet.line(*spot, *at)
    for at, mark in zip(put, marks, strict=True):
        draw_pin(sheet, *at, mark, radius)


def finding_strips(
    findings: Sequence[Finding],
    box: tuple[float, float],
    metrics: FontMetrics,
    *,
    advise: bool = True,
    face: Face = BODY,
) -> list[Strip]:
    """Return the numbered list of findings; ``box`` is left edge and width [mm]."""
    strips = [
        _finding_strip(i + 1, f, box, metrics, advise=advise, face=face)
        for i, f in enumerate(findings[:MOST_SHOWN])
    ]
    if len(findings) > MOST_SHOWN:
        more = _("and {n} lesser remarks, all in forecast.json").format(
            n=len(findings) - MOST_SHOWN
        )
        strips.append(Strip(5.0, lambda sheet, y: sheet.text(box[0] + 7, y - 3.6, more, QUIET)))
    return strips


def _finding_strip(
    number: int,
    finding: Finding,
    box: tuple[float, float],
    metrics: FontMetrics,
    *,
    advise: bool,
    face: Face,
) -> Strip:
    x, width = box[0] + 7.0, box[1] - 7.0
    rgb = ACCENT if finding.severity == Severity.BLOCK else INK
    tight = face.size_pt / BODY.size_pt
    face = Face(face.size_pt, rgb=rgb)
    remedies = "; ".join(r.label.rstrip(".") for r in finding.remedies)
    advice = (
        _("What can be done: {remedies}.").format(remedies=remedies) if remedies and advise else ""
    )
    lines = len(wrap(finding.reason, width, face, metrics))
    height = max(lines * face.lead_mm + 1.8 * tight**3, 4.4 * tight)
    if advice:
        height += len(wrap(advice, width, QUIET, metrics)) * QUIET.lead_mm

    def draw(sheet: Sheet, y: float) -> None:
        draw_pin(sheet, box[0] + PIN_MM, y - 0.55 * face.lead_mm, str(number), PIN_MM * tight)
        below = sheet.paragraph(x, y, finding.reason, width, face)
        if advice:
            sheet.paragraph(x, below, advice, width, QUIET)

    return Strip(height, draw)


def findings_section(
    findings: Sequence[Finding],
    metrics: FontMetrics,
    measure_mm: float,
    *,
    advise: bool = True,
    face: Face = BODY,
) -> list[Strip]:
    """Return the whole list, or the sentence that stands for an empty one.

    ``advise`` adds what can be done about each: for the proof, not for the machine.
    """
    if findings:
        box = (MARGIN_MM, measure_mm)
        return finding_strips(findings, box, metrics, advise=advise, face=face)
    text = _("Nothing was found that a customer would notice.")
    return [Strip(5.5, lambda sheet, y: sheet.text(MARGIN_MM, y - 3.8, text, BODY))]
