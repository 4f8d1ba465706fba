"""Findings about shapes thread cannot draw: details thinner than thread, gaps that close, snags.

Input: the evidence. Output: findings, one per place; grouping comes later.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.narrow_parts import inside_areas, narrow_parts
from firstpiece.forecasting.remedies import leave_out, resize, sew_as, thinner_thread
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.stitch import Role, StitchType

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence

# Longer satin stitches catch on things (common practice, no source).
SNAG_MM = 7.0
# A patch must be this many widths long to count as a detail and not as a rounded corner.
LONG_WIDTHS = 2.5


def thin_details(evidence: Evidence) -> list[Finding]:
    """Return parts of the art narrower than one laid thread; sewn, they come out bolder."""
    width = evidence.laid_width_mm
    parts = evidence.memo.recall(
        "thin parts",
        (evidence.areas_key, evidence.grid, evidence.is_sewn.tobytes(), width),
        lambda: narrow_parts(
            inside_areas(evidence.labels, evidence.is_sewn),
            width,
            evidence.grid,
            smallest_mm2=LONG_WIDTHS * width * width,
        ),
    )
    found = []
    for part in parts:
        region = evidence.region_at(int(evidence.labels[part.row, part.col]))
        drawn = max(part.width_mm, evidence.grid.pixel_mm)
        if drawn >= width:
            continue
        reason = _(
            "A {thread} detail {drawn} mm wide is thinner than one laid thread and will look "
            "bolder than drawn."
        ).format(thread=evidence.region_map.thread_of(region).name, drawn=f"{drawn:.2f}")
        found.append(
            Finding(
                code="thin-detail",
                severity=Severity.NOTE,
                reason=reason,
                where_mm=_place(evidence, part.row, part.col),
                measured=round(drawn, 2),
                limit=round(width, 2),
                unit="mm",
                region_id=region.id,
                remedies=(
                    resize(evidence, width / drawn),
                    thinner_thread(),
                    leave_out(evidence, region.id),
                ),
            )
        )
    return found


def narrow_gaps(evidence: Evidence) -> list[Finding]:
    """Return gaps of bare cloth that thread on both sides will close.

    Notes
    -----
    Each side is widened by the cloth's pull so that it draws in to its outline, and the outer
    thread lies half its width over its holes: 2·pull + one laid width. Where exactly a gap closes
    is not known without a sewn swatch.
    """
    limit = 2.0 * evidence.setup.fabric.pull.value + evidence.laid_width_mm
    parts = evidence.memo.recall(
        "narrow gaps",
        (evidence.areas_key, evidence.grid, evidence.is_sewn.tobytes(), limit),
        lambda: narrow_parts(
            ~evidence.is_sewn[evidence.labels],
            limit,
            evidence.grid,
            smallest_mm2=LONG_WIDTHS * limit * limit,
        ),
    )
    found = []
    for part in parts:
        drawn = max(part.width_mm, evidence.grid.pixel_mm)
        if drawn >= limit:
            continue
        reason = _(
            "A gap of bare cloth {drawn} mm wide may close: the thread on both sides spreads and "
            "the cloth draws in."
        ).format(drawn=f"{drawn:.1f}")
        found.append(
            Finding(
                code="narrow-gap",
                severity=Severity.WARN,
                reason=reason,
                where_mm=_place(evidence, part.row, part.col),
                measured=round(drawn, 2),
                limit=round(limit, 2),
                unit="mm",
                remedies=(
                    Remedy(
                        _("Widen the gap to {mm} mm").format(mm=f"{limit:.1f}"),
                        "thicken",
                        -1,
                        round(limit, 2),
                    ),
                    resize(evidence, limit / drawn),
                ),
            )
        )
    return found


def long_satin(evidence: Evidence) -> list[Finding]:
    """Return satin areas whose longest stitch would snag."""
    found = []
    lengths = evidence.laid.lengths_mm
    rows = evidence.laid.row
    is_cover = evidence.plan.role[rows] == Role.COVER
    for treatment in evidence.plan.treatments:
        if treatment.stitch_type is not StitchType.SATIN:
            continue
        own = is_cover & (evidence.plan.region_id[rows] == treatment.region_id)
        if not own.any():
            continue
        worst = int(np.argmax(np.where(own, lengths, 0.0)))
        if lengths[worst] <= SNAG_MM:
            continue
        reason = _("Satin stitches {mm} mm long in the {thread} area catch and wear.").format(
            mm=f"{lengths[worst]:.1f}", thread=evidence.thread_of(treatment.region_id).name
        )
        found.append(
            Finding(
                code="long-satin",
                severity=Severity.WARN,
                reason=reason,
                where_mm=_middle(evidence, worst),
                measured=round(float(lengths[worst]), 1),
                limit=SNAG_MM,
                unit="mm",
                region_id=treatment.region_id,
                remedies=(sew_as(evidence, treatment.region_id, StitchType.FILL),),
            )
        )
    return found


def overlong_stitches(evidence: Evidence) -> list[Finding]:
    """Return the longest stitch when the machine cannot make it."""
    lengths = evidence.laid.lengths_mm
    limit = evidence.setup.machine.longest_stitch_mm
    if not len(lengths) or lengths.max() <= limit + 0.01:
        return []
    worst = int(lengths.argmax())
    region_id = int(evidence.plan.region_id[evidence.laid.row[worst]])
    reason = _("A stitch of {mm} mm is longer than the machine can make.").format(
        mm=f"{lengths[worst]:.1f}"
    )
    remedy = sew_as(evidence, region_id, StitchType.FILL)
    return [
        Finding(
            code="stitch-too-long",
            severity=Severity.BLOCK,
            reason=reason,
            where_mm=_middle(evidence, worst),
            measured=round(float(lengths[worst]), 1),
            limit=limit,
            unit="mm",
            region_id=region_id,
            remedies=(remedy,),
        )
    ]


def _place(evidence: Evidence, row: int, col: int) -> tuple[float, float]:
    grid = evidence.grid
    x = grid.left_mm + (col + 0.5) * grid.pixel_mm
    y = grid.top_mm - (row + 0.5) * grid.pixel_mm
    return (round(x, 2), round(y, 2))


def _middle(evidence: Evidence, piece: int) -> tuple[float, float]:
    x0, y0, x1, y1 = evidence.laid.segments_mm[piece]
    return (round(float(x0 + x1) / 2, 2), round(float(y0 + y1) / 2, 2))
