"""Which swatch would settle what the forecast does not know.

Input: a prepared job. Output: swatches worth sewing, the most telling first, with what each tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.model.measured import Certainty

if TYPE_CHECKING:
    from firstpiece.model.measured import Figure
    from firstpiece.shop.prepare import Prepared

# A band this many times wider than its middle leaves a figure open.
OPEN_BAND = 0.5


@dataclass(frozen=True, slots=True)
class SwatchAdvice:
    """A swatch: its name, what to sew and measure, what it settles, how open that is now.

    ``spread`` is the width of the figure's band over its middle.
    """

    name: str
    sew: str
    settles: str
    spread: float


def advise_swatches(prepared: Prepared) -> tuple[SwatchAdvice, ...]:
    """Return the swatches that would narrow this job's forecast, the widest open question first."""
    forecast = prepared.forecast
    shows = [r.show_through for r in forecast.regions if r.show_through.band.p95 > 1.0]
    pulls = [a.drawn_in for a in forecast.settled_areas]
    advice = []
    if spread := _spread(shows):
        words = _(
            "Wind the thread close over a card that is half black and half white, sew rows at "
            "three spacings on this cloth, and photograph both."
        )
        settles = _("whether cloth shows through: laid width and scatter of the thread")
        advice.append(SwatchAdvice(_("cover card"), words, settles, spread))
    if spread := _spread(pulls):
        words = _(
            "Columns 1, 2, 4, 7 and 10 mm wide along and across the cloth, rows 6, 12 and 24 mm "
            "long, and a 25 mm disc, on this cloth and backing; measure them off the hoop."
        )
        settles = _("pull, gaps and ovals: tension over stiffness, along against across")
        advice.append(SwatchAdvice(_("pull swatch"), words, settles, spread))
    if spread := _spread([forecast.sewing_minutes]):
        words = _(
            "Time three runs: 3000 stitches of 10 mm; 800 of 2 mm with 30 trims; 800 of 2 mm with "
            "8 thread changes. Time a fourth job to check."
        )
        advice.append(
            SwatchAdvice(_("timed runs"), words, _("minutes: speed law, trim, change"), spread)
        )
    if spread := _spread([forecast.bobbin_m]):
        words = _("Weigh cone and bobbin before and after a satin and a fill of known length.")
        advice.append(
            SwatchAdvice(_("weighed bobbin"), words, _("metres of top and bobbin thread"), spread)
        )
    return tuple(sorted(advice, key=lambda a: (-a.spread, a.name)))


def _spread(figures: list[Figure]) -> float:
    """Return the widest band over its middle among figures that are still guesses, or 0."""
    open_ones = [
        (f.band.p95 - f.band.p05) / max(abs(f.band.p50), 1e-9)
        for f in figures
        if f.certainty is Certainty.DEFAULT
    ]
    widest = max(open_ones, default=0.0)
    return round(widest, 2) if widest >= OPEN_BAND else 0.0
