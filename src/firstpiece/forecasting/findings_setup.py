"""Findings about the set-up: garment colour, cloth surface, hoop and number of threads.

Input: the evidence. Output: findings that hold for the whole job.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.forecasting.remedies import leave_out, other_garment
from firstpiece.forecasting.show_through import color_difference, linear_rgb
from firstpiece.model.finding import Finding, Remedy, Severity
from firstpiece.model.hooping import largest_scale, needle_places, smallest_hoop
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from firstpiece.forecasting.evidence import Evidence
    from firstpiece.model.material import ThreadColor

# CIEDE2000: below this a shape does not stand out from its ground at arm's length (guess).
STANDS_OUT, HARDLY_SEEN = 10.0, 5.0
CLEARLY_SEEN = 15.0
# Planning says this too, but a plan read back from its files has lost it.
NO_HOOP = "no-hoop-clears"


def low_contrast(evidence: Evidence) -> list[Finding]:
    """Return threads whose colour hardly differs from the garment's."""
    cloth = evidence.setup.garment
    ground = linear_rgb(cloth.rgb)
    found = []
    for index, thread in enumerate(evidence.plan.threads):
        contrast = color_difference(linear_rgb(thread.rgb), ground)
        areas = [r for r in evidence.region_map.sewn_regions
                 if evidence.region_map.thread_of(r) == thread]  # fmt: skip
        if contrast >= STANDS_OUT or not areas:
            continue
        largest = max(areas, key=lambda r: (r.polygon.area, -r.id))
        reason = _("The {thread} thread hardly stands out on the {cloth} cloth.").format(
            thread=thread.name, cloth=cloth.color_name
        )
        remedies = [leave_out(evidence, largest.id),
                    other_garment()]  # fmt: skip
        other = _clearer_thread(evidence, index)
        if other is not None:
            words = _("Sew {thread} areas in {other}").format(thread=thread.name, other=other.name)
            remedies.insert(0, Remedy(words, "recolor", largest.id, other.name))
        found.append(
            Finding(
                code="low-contrast",
                severity=Severity.WARN if contrast < HARDLY_SEEN else Severity.NOTE,
                reason=reason,
                where_mm=evidence.centre_of(largest.id),
                measured=round(contrast, 1),
                limit=STANDS_OUT,
                unit="ΔE00",
                region_id=largest.id,
                remedies=tuple(remedies),
            )
        )
    return found


def _clearer_thread(evidence: Evidence, index: int) -> ThreadColor | None:
    """Return the thread on the rack nearest to this one that stands out on the garment."""
    wanted = linear_rgb(evidence.plan.threads[index].rgb)
    ground = linear_rgb(evidence.setup.garment.rgb)
    fitting = [
        (color_difference(linear_rgb(c.rgb), wanted), c.name, c)
        for c in evidence.setup.thread.colors
        if color_difference(linear_rgb(c.rgb), ground) >= CLEARLY_SEEN
    ]
    return min(fitting, key=lambda entry: entry[:2])[2] if fitting else None


def needs_topping(evidence: Evidence) -> list[Finding]:
    """Return a warning on cloth whose loops or pile come up between stitches."""
    fabric = evidence.setup.fabric
    if not fabric.needs_topping or evidence.setup.topping:
        return []
    reason = _(
        "The loops or pile of this cloth come up between the stitches unless a film lies on top."
    )
    return [
        Finding(
            code="needs-topping",
            severity=Severity.WARN,
            reason=reason,
            measured=fabric.thickness.value,
            unit="mm",
            remedies=(Remedy(_("Lay a water-soluble topping over the cloth"), "topping"),),
        )
    ]


def hoop_size(evidence: Evidence) -> list[Finding]:
    """Return a block when the stitches do not clear any hoop this garment may use."""
    width, height = evidence.plan.size_mm
    hoops = evidence.setup.hoops
    told_by_plan = any(f.code == NO_HOOP for f in evidence.plan.findings)
    places = needle_places(evidence.plan)
    if told_by_plan or not hoops or smallest_hoop(places, hoops) is not None:
        return []
    factor = max(largest_scale(places, hoop) for hoop in hoops)
    fitting = math.floor(evidence.region_map.height_mm * factor)
    reason = _(
        "The design, {width} × {height} mm, does not clear the largest hoop for this garment: "
        "the needle would strike it."
    ).format(width=round(width), height=round(height))
    words = _("Sew the design {height} mm high").format(height=fitting)
    return [
        Finding(
            code=NO_HOOP,
            severity=Severity.BLOCK,
            reason=reason,
            measured=round(1 / factor, 3) if factor > 0 else None,
            limit=1.0,
            remedies=(
                Remedy(words, "height", -1, float(fitting)),
                Remedy(_("Choose a garment that takes a larger hoop"), "garment"),
            ),
        )
    ]


def thread_changes(evidence: Evidence) -> list[Finding]:
    """Return a note when threads come back more often than the colours need."""
    threads = evidence.plan.threads
    changes = evidence.plan.count(Action.COLOR_CHANGE)
    spare = changes - max(0, len(threads) - 1)
    if spare <= 0:
        return []
    seconds = round(spare * evidence.setup.machine.color_change.value)
    reason = _(
        "{n} thread changes for {colors} colours: threads that come back cost about {seconds} s a "
        "piece."
    ).format(n=changes, colors=len(threads), seconds=seconds)
    if evidence.plan.fewest_changes == changes:
        reason += " " + _("No order that sews details on top of what they lie on has fewer.")
    return [_changes(evidence, reason, (changes, len(threads) - 1))]


def _changes(evidence: Evidence, reason: str, counts: tuple[int, int]) -> Finding:
    """Return the finding with the remedy that sews the smallest colour in its nearest neighbour."""
    area_of = dict.fromkeys(evidence.plan.threads, 0.0)
    for region in evidence.region_map.sewn_regions:
        thread = evidence.region_map.thread_of(region)
        area_of[thread] = area_of.get(thread, 0.0) + float(region.polygon.area)
    rarest = min(area_of, key=lambda t: (area_of[t], t.name))
    region_id = next(
        (r.id for r in evidence.region_map.sewn_regions
         if evidence.region_map.thread_of(r) == rarest), -1
    )  # fmt: skip
    others = [t for t in evidence.plan.threads if t != rarest]
    target = linear_rgb(rarest.rgb)
    remedies = []
    if evidence.plan.fewest_changes != counts[0]:
        remedies.append(Remedy(_("Sew the areas of one colour one after the other"), "order"))
    if others:
        nearest = min(others, key=lambda t: (color_difference(linear_rgb(t.rgb), target), t.name))
        words = _("Sew {rare} areas in {other}").format(rare=rarest.name, other=nearest.name)
        remedies.insert(0, Remedy(words, "recolor", region_id, nearest.name))
    return Finding(
        code="thread-changes",
        severity=Severity.NOTE,
        reason=reason,
        measured=float(counts[0]),
        limit=float(counts[1]),
        region_id=-1,
        remedies=tuple(remedies),
    )
