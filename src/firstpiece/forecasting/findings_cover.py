"""Findings about cloth that can be seen: through the thread, in bare spots, in areas left unsewn.

Input: the evidence. Output: findings, one per place; grouping comes later.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.forecasting.remedies import (
    add_underlay,
    leave_out,
    other_garment,
    resize,
    set_spacing,
    sew_as,
    sew_swatch,
    turn_rows,
)
from firstpiece.forecasting.show_through import show_through
from firstpiece.forecasting.spacing_choice import CLOSEST_SHARE, even_rows
from firstpiece.model.finding import Finding, Severity
from firstpiece.model.measured import Certainty
from firstpiece.model.stitch import StitchType

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence
    from firstpiece.model.finding import Remedy
    from firstpiece.model.forecast import RegionForecast

# CIEDE2000. About 1 is just seen side by side; the model itself can be several units off.
NOTICED, PLAIN = 3.0, 5.0
SPOT_MM = 0.5
SEWN_AT_ALL = 0.05
# From this cover on it is the thread's thinness and not its gaps that shows the cloth.
CLOSED = 0.97


def cloth_shows(evidence: Evidence) -> list[Finding]:
    """Return areas whose colour the cloth changes; ΔE00 above 3 is noted, above 5 a warning."""
    found = []
    for area in evidence.regions:
        seen = area.show_through.band.p50
        if area.cover < SEWN_AT_ALL or seen <= NOTICED:
            continue
        found.append(
            Finding(
                code="cloth-shows",
                severity=Severity.WARN if seen > PLAIN else Severity.NOTE,
                reason=_why_it_shows(evidence, area),
                where_mm=_barest_place(evidence, area.region_id),
                measured=round(seen, 1),
                limit=NOTICED,
                unit="ΔE00",
                region_id=area.region_id,
                remedies=_closing_remedies(evidence, area.region_id),
            )
        )
    return found


def _why_it_shows(evidence: Evidence, area: RegionForecast) -> str:
    cloth = evidence.setup.garment.color_name
    thread = evidence.thread_of(area.region_id).name
    if area.cover >= CLOSED:
        return _("The {cloth} cloth shines through the thin layer of {thread} thread.").format(
            cloth=cloth, thread=thread
        )
    return _(
        "The {cloth} cloth shows between the stitches of the {thread} area: {percent} % is bare."
    ).format(cloth=cloth, thread=thread, percent=max(1, round(100 * (1 - area.cover))))


def cover_unsure(evidence: Evidence) -> list[Finding]:
    """Return a note for areas that pass on the card's middle values and fail at their ends."""
    found = []
    for area in evidence.regions:
        band = area.show_through.band
        is_guess = area.show_through.certainty is not Certainty.CALIBRATED
        if area.cover < SEWN_AT_ALL or band.p50 > NOTICED or not is_guess or band.p95 <= PLAIN:
            continue
        reason = _(
            "Whether the {cloth} cloth shows through the {thread} area is not known without a "
            "sewn swatch: the thread's laid width and thickness are not measured yet."
        ).format(
            cloth=evidence.setup.garment.color_name,
            thread=evidence.thread_of(area.region_id).name,
        )
        found.append(
            Finding(
                code="cover-unsure",
                severity=Severity.NOTE,
                reason=reason,
                where_mm=evidence.centre_of(area.region_id),
                measured=round(band.p95, 1),
                limit=PLAIN,
                unit="ΔE00",
                region_id=area.region_id,
                remedies=(
                    *_closing_remedies(evidence, area.region_id)[:2],
                    sew_swatch(_("cover card")),
                ),
            )
        )
    return found


def uncovered_spots(evidence: Evidence) -> list[Finding]:
    """Return areas with a bare circle more than 0.5 mm across."""
    found = []
    for area in evidence.regions:
        if area.cover < SEWN_AT_ALL or area.widest_gap_mm <= SPOT_MM:
            continue
        cover = evidence.cover.areas[evidence.index_of[area.region_id]]
        reason = _("A bare spot {width} mm across is left in the {thread} area.").format(
            width=f"{area.widest_gap_mm:.1f}", thread=evidence.thread_of(area.region_id).name
        )
        found.append(
            Finding(
                code="uncovered-spot",
                severity=Severity.WARN,
                reason=reason,
                where_mm=cover.widest_at_mm,
                measured=round(area.widest_gap_mm, 2),
                limit=SPOT_MM,
                unit="mm",
                region_id=area.region_id,
                remedies=_other_stitching(evidence, area.region_id),
            )
        )
    return found


def unsewn_areas(evidence: Evidence) -> list[Finding]:
    """Return areas of the art over which the plan lays no thread."""
    found = []
    for area in evidence.regions:
        if area.cover >= SEWN_AT_ALL:
            continue
        width = _mean_width_mm(evidence, area.region_id)
        wanted = 2.0 * evidence.laid_width_mm
        first = (
            resize(evidence, wanted / max(width, 0.05))
            if width < wanted
            else sew_as(evidence, area.region_id, StitchType.FILL)
        )
        reason = _("A {thread} area {width} mm wide is not sewn.").format(
            thread=evidence.thread_of(area.region_id).name, width=f"{width:.1f}"
        )
        found.append(
            Finding(
                code="too-small",
                severity=Severity.WARN,
                reason=reason,
                where_mm=evidence.centre_of(area.region_id),
                measured=round(width, 2),
                limit=round(wanted, 2),
                unit="mm",
                region_id=area.region_id,
                remedies=(first, leave_out(evidence, area.region_id)),
            )
        )
    return found


def _mean_width_mm(evidence: Evidence, region_id: int) -> float:
    """Return twice the area over the outline's length: the mean width of a long thin area."""
    polygon = evidence.region_at(evidence.index_of[region_id]).polygon
    return 2.0 * float(polygon.area) / float(polygon.length)


def _barest_place(evidence: Evidence, region_id: int) -> tuple[float, float]:
    place = evidence.cover.areas[evidence.index_of[region_id]].widest_at_mm
    return place or evidence.centre_of(region_id)


def _closing_remedies(evidence: Evidence, region_id: int) -> tuple[Remedy, ...]:
    treatment = evidence.treatments.get(region_id)
    remedies = []
    spacing = _closing_spacing_mm(evidence, region_id)
    if spacing is not None:
        remedies.append(set_spacing(evidence, region_id, spacing))
    if treatment is not None and treatment.stitch_type is StitchType.RUNNING:
        remedies.append(sew_as(evidence, region_id, StitchType.SATIN))
    elif treatment is not None and len(treatment.underlay) < 2:
        remedies.append(add_underlay(evidence, region_id))
    return (*remedies, other_garment())


def _closing_spacing_mm(evidence: Evidence, region_id: int) -> float | None:
    """Return the widest spacing, below the present one, at which the model says it closes.

    Where even rows set closely stay above the difference that is noticed, closing as far as the
    warning's limit is offered.
    """
    return _spacing_for(evidence, region_id, NOTICED) or _spacing_for(evidence, region_id, PLAIN)


def _spacing_for(evidence: Evidence, region_id: int, limit: float) -> float | None:
    treatment = evidence.treatments.get(region_id)
    if treatment is None or treatment.spacing_mm <= 0:
        return None
    # Two passes lie in each column spacing of a satin.
    passes = 2.0 if treatment.stitch_type is StitchType.SATIN else 1.0
    section = evidence.sections[treatment.thread_index]
    thread = evidence.thread_of(region_id)
    hundredths = int(treatment.spacing_mm * 100 - 0.5)
    while hundredths / 100 >= CLOSEST_SHARE * section.width_mm * passes:
        texture = even_rows(hundredths / 100 / passes, section)
        scatter = evidence.setup.thread.scatter.value
        if show_through(thread.rgb, evidence.setup.garment.rgb, texture, scatter) <= limit:
            return hundredths / 100
        hundredths -= 1
    return None


def _other_stitching(evidence: Evidence, region_id: int) -> tuple[Remedy, ...]:
    treatment = evidence.treatments.get(region_id)
    if treatment is not None and treatment.stitch_type is StitchType.FILL:
        closer = round(0.9 * treatment.spacing_mm, 2)
        return (turn_rows(evidence, region_id), set_spacing(evidence, region_id, closer))
    if treatment is not None and treatment.stitch_type is StitchType.RUNNING:
        return (sew_as(evidence, region_id, StitchType.SATIN),)
    return (sew_as(evidence, region_id, StitchType.FILL),)
