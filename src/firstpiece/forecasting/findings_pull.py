"""Findings about cloth drawn together: gaps that open between areas, cloth too soft to forecast.

Input: the evidence. Output: findings, one per place; grouping comes later.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.forecasting.remedies import add_underlay, sew_swatch, widen_area
from firstpiece.model.finding import Finding, Remedy, Severity

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence
    from firstpiece.model.forecast import EdgeGap

# A slit of bare cloth is seen from about half a thread's width on (guess).
SEEN_GAP_MM = 0.2
STIFFEST_BACKING = "cutaway-85"


def opening_gaps(evidence: Evidence) -> list[Finding]:
    """Return common edges along which cloth comes to show as the areas draw apart.

    Notes
    -----
    A warning only where even the low end of the band opens the gap; where the middle does, a note
    that says it is not known.
    """
    found = []
    for gap in evidence.gaps:
        band = gap.width.band
        if band.p50 <= SEEN_GAP_MM:
            continue
        is_sure = band.p05 > SEEN_GAP_MM
        first, second = (evidence.thread_of(i).name for i in (gap.first_id, gap.second_id))
        words = (
            _("A gap of at least {low} mm opens between the {first} and the {second} area.")
            if is_sure
            else _(
                "A gap of about {mm} mm may open between the {first} and the {second} area; how "
                "wide is not known without a sewn swatch."
            )
        )
        found.append(
            Finding(
                code="gap-opens",
                severity=Severity.WARN if is_sure else Severity.NOTE,
                reason=words.format(
                    low=f"{band.p05:.1f}", mm=f"{band.p50:.1f}", first=first, second=second
                ),
                where_mm=gap.where_mm,
                measured=round(band.p50, 2),
                limit=SEEN_GAP_MM,
                unit="mm",
                region_id=gap.first_id,
                remedies=_closing_remedies(evidence, gap),
            )
        )
    return found


def _closing_remedies(evidence: Evidence, gap: EdgeGap) -> tuple[Remedy, ...]:
    """Widen the area sewn first: what is sewn later then lies over its edge."""
    first = min(
        (gap.first_id, gap.second_id),
        key=lambda i: evidence.treatments[i].sewn_order if i in evidence.treatments else 0,
    )
    remedies = [widen_area(evidence, first, gap.width.band.p50 / 2)]
    treatment = evidence.treatments.get(first)
    if treatment is not None and len(treatment.underlay) < 2:
        remedies.append(add_underlay(evidence, first))
    return (*remedies, sew_swatch())


def too_soft(evidence: Evidence) -> list[Finding]:
    """Return a warning where the cloth with its backing gives way more than the model can bear."""
    if evidence.settled.is_linear:
        return []
    reason = _(
        "{cloth} on {backing} gives way so far that its draw cannot be forecast: it needs a "
        "firmer backing."
    ).format(cloth=evidence.setup.fabric.label, backing=evidence.setup.backing.label)
    return [
        Finding(
            code="needs-backing",
            severity=Severity.WARN,
            reason=reason,
            measured=round(evidence.setup.backing.stiffness.value),
            unit="N/m",
            remedies=(
                Remedy(_("Hoop a firmer cutaway under it"), "backing", -1, STIFFEST_BACKING),
            ),
        )
    ]
