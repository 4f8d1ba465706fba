"""Findings about too much thread in one place: lumps of ties, crowded needle holes, stiff patches.

Input: the evidence. Output: findings, one per place; grouping comes later.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.forecasting.hole_lines import OPEN_SHARES
from firstpiece.forecasting.lumps import CLUSTER_MM, find_ties
from firstpiece.forecasting.remedies import (
    leave_out,
    move_tie,
    resize,
    set_spacing,
    thinner_thread,
)
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.material import Weave

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence
    from firstpiece.model.forecast import Lump

# Two ties meet at the ends of every small area; from three the bump passes about a millimetre.
LUMP_TIES = 3
# Two ties this far apart are felt as two small ones (guess).
TIE_MOVED_MM = 2.4
# Our own limit; no published one was found.
CROWDED_MM2 = 14
# Share of a satin's edge that is cloth between holes, for holes that stay middling open (guess).
CLOTH_LEFT = 0.1
# A covered block is called a patch from this size and this share of the cloth's weight (guesses).
PATCH_SIDE_MM, PATCH_SHARE, LIGHT_CLOTH_GSM = 60.0, 0.4, 200.0
PATCH_PIXEL_MM, PATCH_COVERED = 1.0, 0.7
# The bobbin thread adds about this much to the mass on top (guess).
BOBBIN_SHARE = 0.3


def felt_lumps(evidence: Evidence) -> list[Finding]:
    """Return places where three or more ties meet."""
    return [_lump(evidence, lump) for lump in evidence.lumps if lump.n_ties >= LUMP_TIES]


def _lump(evidence: Evidence, lump: Lump) -> Finding:
    regions = _regions_near(evidence, lump)
    reason = _(
        "{n} ties meet here and will be felt on the back as a bump of up to {mm} mm."
    ).format(n=lump.n_ties, mm=f"{lump.height.band.p95:.1f}")
    return Finding(
        code="lump",
        severity=Severity.WARN,
        reason=reason,
        where_mm=(round(lump.x_mm, 2), round(lump.y_mm, 2)),
        measured=float(lump.n_ties),
        limit=float(LUMP_TIES - 1),
        unit=_("ties"),
        region_id=regions[0] if regions else -1,
        remedies=(
            *_ties_moved(evidence, lump, regions),
            *_sew_together(evidence, regions),
            Remedy(_("Put a soft cover over the back"), "backing"),
        ),
    )


def _regions_near(evidence: Evidence, lump: Lump) -> list[int]:
    """Return the areas with a penetration at the lump, in sewing order."""
    plan = evidence.plan
    offset = plan.xy_mm - np.array([lump.x_mm, lump.y_mm])
    near = plan.is_stitch & (np.hypot(offset[:, 0], offset[:, 1]) <= CLUSTER_MM)
    ids = dict.fromkeys(int(i) for i in plan.region_id[near])
    return [i for i in ids if i in evidence.treatments]


def _ties_moved(evidence: Evidence, lump: Lump, regions: list[int]) -> list[Remedy]:
    """Return the remedy that moves the tie of the area with the most room to take it."""
    ties = find_ties(evidence.plan)
    offset = ties.at_mm - np.array([lump.x_mm, lump.y_mm])
    rows = ties.first_row[np.hypot(offset[:, 0], offset[:, 1]) <= CLUSTER_MM]
    tied = {int(i) for i in evidence.plan.region_id[rows]}
    most = [i for i in regions if i in tied]
    if not most:
        return []
    roomy = max(most, key=lambda i: (evidence.treatments[i].n_stitches, -i))
    return [move_tie(evidence, roomy, TIE_MOVED_MM)]


def _sew_together(evidence: Evidence, regions: list[int]) -> list[Remedy]:
    """Return the remedy that joins two areas of one thread, so that no tie is needed between."""
    for i, first in enumerate(regions):
        for second in regions[i + 1 :]:
            one, other = evidence.treatments[first], evidence.treatments[second]
            apart = other.sewn_order - one.sewn_order
            if one.thread_index == other.thread_index and apart > 1:
                words = _("Sew the two {thread} areas that meet here one after the other")
                label = words.format(thread=evidence.thread_of(first).name)
                return [Remedy(label, "order", second, float(one.sewn_order + 1))]
    return []


def crowded_holes(evidence: Evidence) -> list[Finding]:
    """Return the square millimetre with most needle holes when there are more than 14."""
    if not len(evidence.holes) or evidence.holes.max() <= CROWDED_MM2:
        return []
    worst = int(evidence.holes.argmax())
    row = int(np.flatnonzero(evidence.plan.is_stitch)[worst])
    region_id = int(evidence.plan.region_id[row])
    remedies = []
    treatment = evidence.treatments.get(region_id)
    if treatment is not None and treatment.spacing_mm > 0:
        spacing = round(1.2 * treatment.spacing_mm, 2)
        remedies.append(set_spacing(evidence, region_id, spacing))
    remedies.append(thinner_thread())
    n_crowded = int(np.count_nonzero(evidence.holes > CROWDED_MM2))
    reason = _(
        "The needle goes in {n} times within 1 mm² (holes this close in all: {m}): a sign of hard "
        "spots and cut cloth, not a measure of damage."
    ).format(n=int(evidence.holes[worst]), m=n_crowded)
    x, y = evidence.plan.xy_mm[row]
    return [
        Finding(
            code="dense",
            severity=Severity.WARN,
            reason=reason,
            where_mm=(round(float(x), 2), round(float(y), 2)),
            measured=float(evidence.holes[worst]),
            limit=float(CROWDED_MM2),
            unit="1/mm²",
            region_id=region_id,
            remedies=tuple(remedies),
        )
    ]


def perforated_edges(evidence: Evidence) -> list[Finding]:
    """Return satin columns along whose edges the holes leave hardly any cloth: a proxy."""
    found = []
    for line in evidence.lines:
        if line.cloth_left is None or line.edge_pitch_mm is None:
            continue
        left = line.cloth_left[1]
        if left > CLOTH_LEFT:
            continue
        blade = evidence.setup.needle.blade_mm
        reason = _(
            "Along the edges of the {thread} satin the needle goes in every {pitch} mm with a "
            "blade of {blade} mm: a line of holes like a stamp's edge. Whether it tears is not "
            "known."
        ).format(
            thread=evidence.thread_of(line.region_id).name,
            pitch=f"{line.edge_pitch_mm:.2f}",
            blade=f"{blade:.2f}",
        )
        wider = round(OPEN_SHARES[1] * blade / (1 - 2 * CLOTH_LEFT), 2)
        found.append(
            Finding(
                code="perforated-edge",
                severity=Severity.NOTE,
                reason=reason,
                where_mm=evidence.centre_of(line.region_id),
                measured=round(line.edge_pitch_mm, 2),
                limit=wider,
                unit="mm",
                region_id=line.region_id,
                remedies=(set_spacing(evidence, line.region_id, wider), thinner_thread()),
            )
        )
    return found


def stiff_patches(evidence: Evidence) -> list[Finding]:
    """Return the largest closed block of thread on a light knit, weighed against it.

    Notes
    -----
    Thread mass per area follows from the plan. How stiff the patch hangs depends on how far its
    layers are bonded, which changes the answer a hundredfold, so it is only ranked.
    """
    fabric = evidence.setup.fabric
    if fabric.weave is not Weave.KNIT or fabric.weight.value > LIGHT_CLOTH_GSM:
        return []
    block = _largest_block(evidence)
    if block is None:
        return []
    mean_layers, place, side_mm = block
    layer_gsm = 1e3 * float(np.mean([s.layer_mass for s in evidence.sections]))
    share = mean_layers * layer_gsm * (1 + BOBBIN_SHARE) / fabric.weight.value
    if share < PATCH_SHARE or side_mm < PATCH_SIDE_MM:
        return []
    reason = _(
        "A closed block of thread {mm} mm across adds {percent} % to the weight of a light cloth "
        "and will hang like a patch: cloth that drooped at {before} mm holds itself up to about "
        "{after} mm; how stiff is not known without a sewn swatch."
    )
    largest = max(evidence.region_map.sewn_regions, key=lambda r: (r.polygon.area, -r.id))
    rank = next(r for r in evidence.drape if r.region_id == largest.id)
    reason = reason.format(
        mm=round(side_mm),
        percent=round(100 * share),
        before=round(rank.before_mm),
        after=round(rank.after_mm),
    )
    return [
        Finding(
            code="stiff-patch",
            severity=Severity.WARN,
            reason=reason,
            where_mm=place,
            measured=round(share, 2),
            limit=PATCH_SHARE,
            unit="",
            region_id=largest.id,
            remedies=(
                leave_out(evidence, largest.id),
                resize(evidence, PATCH_SIDE_MM / side_mm),
                Remedy(_("Choose a heavier cloth"), "garment"),
            ),
        )
    ]


def _largest_block(evidence: Evidence) -> tuple[float, tuple[float, float], float] | None:
    """Return mean layers, a place and the diameter of the largest disc of closed thread."""
    step = max(1, round(PATCH_PIXEL_MM / evidence.grid.pixel_mm))
    rows = evidence.grid.n_rows // step * step
    cols = evidence.grid.n_cols // step * step
    layers = evidence.cover.layers[:rows, :cols].reshape(rows // step, step, cols // step, step)
    mean_layers = layers.mean(axis=(1, 3), dtype=np.float32)
    closed = (layers > 0).mean(axis=(1, 3), dtype=np.float32) >= PATCH_COVERED
    closed[[0, -1], :] = False
    closed[:, [0, -1]] = False
    distance = cv2.distanceTransform(closed.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    row, col = np.unravel_index(int(distance.argmax()), distance.shape)
    if distance[row, col] <= 0:
        return None
    pixel = evidence.grid.pixel_mm * step
    reach = int(distance[row, col])
    disc = mean_layers[max(0, row - reach) : row + reach + 1, max(0, col - reach) : col + reach + 1]
    place = (
        round(evidence.grid.left_mm + (float(col) + 0.5) * pixel, 2),
        round(evidence.grid.top_mm - (float(row) + 0.5) * pixel, 2),
    )
    return float(disc.mean()), place, 2.0 * float(distance[row, col]) * pixel
