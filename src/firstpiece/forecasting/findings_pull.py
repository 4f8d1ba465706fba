"""Findings about cloth drawn together: gaps that open between areas, cloth too soft to forecast.

Input: the evidence. Output: findings, one per place; grouping comes later.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.forecasting.pull_band import scaled_figure
from firstpiece.forecasting.remedies import (
    add_underlay,
    settle_as_drawn,
    sew_swatch,
    widen_area,
)
from firstpiece.model.finding import Finding, Remedy, Severity

if TYPE_CHECKING:
    import shapely

    from firstpiece.forecasting.evidence import Evidence
    from firstpiece.model.forecast import EdgeGap

# A slit of bare cloth is seen from about half a thread's width on (guess).
SEEN_GAP_MM = 0.2
# A circle reads as one while its axes differ by less than this, and from these sizes on (guesses).
SEEN_OVAL_MM, SEEN_OVAL_SHARE, SMALLEST_ROUND_MM, ROUND_SHARE = 0.3, 0.015, 8.0, 0.92
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
    return (*remedies, *_as_drawn(evidence), sew_swatch(_("pull swatch")))


def _as_drawn(evidence: Evidence) -> tuple[Remedy, ...]:
    """Return the remedy that sets all outlines out, unless that is done already."""
    return () if evidence.is_set_out else (settle_as_drawn(),)


def ovals(evidence: Evidence) -> list[Finding]:
    """Return round areas that come out longer one way than the other.

    Notes
    -----
    Rows draw in along themselves and hardly across, so a disc sewn as a fill settles to an oval.
    """
    found = []
    for area in evidence.settled_areas:
        polygon = evidence.region_at(evidence.index_of[area.region_id]).polygon
        across = 2.0 * math.sqrt(polygon.area / math.pi)
        if across < SMALLEST_ROUND_MM or _roundness(polygon) < ROUND_SHARE:
            continue
        oval = abs(area.across_mm - area.along_mm)
        limit = max(SEEN_OVAL_MM, SEEN_OVAL_SHARE * across)
        if oval <= limit:
            continue
        band = scaled_figure(oval, evidence.setup).band
        reason = _(
            "The round {thread} area, {mm} mm across, comes out about {oval} mm longer one way "
            "than the other; how much is not known without a sewn swatch."
        ).format(
            thread=evidence.thread_of(area.region_id).name,
            mm=round(across),
            oval=f"{oval:.1f}",
        )
        found.append(
            Finding(
                code="oval",
                severity=Severity.WARN if band.p05 > limit else Severity.NOTE,
                reason=reason,
                where_mm=evidence.centre_of(area.region_id),
                measured=round(oval, 2),
                limit=round(limit, 2),
                unit="mm",
                region_id=area.region_id,
                remedies=(
                    settle_as_drawn(),
                    add_underlay(evidence, area.region_id),
                    sew_swatch(_("pull swatch")),
                ),
            )
        )
    return found


def _roundness(polygon: shapely.Polygon) -> float:
    """Return area over that of a circle with the same outer edge: 1 for a circle without holes."""
    return float(4.0 * math.pi * polygon.area / polygon.exterior.length**2)


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
