"""The same design on several set-ups side by side, and two revisions of a design area by area.

Input: requests, or two prepared jobs. Output: plain tables; the wording of a cell is the face's.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import shapely
import shapely.affinity

from firstpiece.errors import InputError
from firstpiece.files.result_json import figure_object, money_object
from firstpiece.model.finding import Severity
from firstpiece.shop.prepare import prepare

if TYPE_CHECKING:
    from collections.abc import Sequence

    from moneyed import Money

    from firstpiece.model.forecast import RegionForecast
    from firstpiece.model.measured import Figure
    from firstpiece.model.region import Region
    from firstpiece.model.stitch import Treatment
    from firstpiece.shop.prepare import Prepared, PrepareRequest, Report
    from firstpiece.store.results import ResultShelf

MOST_SETUPS = 4
# Two areas are the same one when they share this much of what they cover together.
SAME_AREA = 0.3
# Smaller changes are not told: share of spacing, CIEDE2000, mm.
TOLD_SHARE, TOLD_DE, TOLD_MM = 0.02, 0.5, 0.05


@dataclass(frozen=True, slots=True, eq=False)
class SetupColumn:
    """One set-up's figures, per piece.

    ``shows`` is the worst area's show-through, ``specks`` the worst 95 % point at reading distance
    (both CIEDE2000), ``drawn_in`` the most an area's rows are drawn in; None where nothing is
    forecast. ``warnings`` and ``blocks`` list codes of findings.
    """

    prepared: Prepared
    label: str
    n_stitches: int
    minutes: Figure
    each: Money
    shows: Figure | None
    specks: float
    drawn_in: Figure | None
    times_stiffer: float
    warnings: tuple[str, ...]
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AreaChange:
    """What changed in one area between two revisions.

    ``before_id`` or ``after_id`` is -1 for an area that is new or gone; ``changes`` are sentences,
    ``reason`` is planning's own for what it does now.
    """

    before_id: int
    after_id: int
    thread: str
    changes: tuple[str, ...]
    reason: str


def compare_setups(
    requests: Sequence[PrepareRequest],
    *,
    shelf: ResultShelf | None = None,
    report: Report | None = None,
) -> tuple[SetupColumn, ...]:
    """Return one column of figures for each of up to four requests.

    Raises
    ------
    InputError
        When there are fewer than two or more than four.
    """
    if not 2 <= len(requests) <= MOST_SETUPS:
        raise InputError(
            _("{n} set-ups cannot be compared").format(n=len(requests)),
            remedy=_("give two to four"),
        )
    columns = []
    for place, request in enumerate(requests):
        prepared = prepare(request, shelf=shelf)
        if report is not None:
            report((place + 1) / len(requests), _("Comparing"))
        columns.append(_column(prepared))
    return tuple(columns)


def setup_object(column: SetupColumn) -> dict[str, Any]:
    """Return one set-up's figures as a plain object."""
    setup = column.prepared.setup
    return {
        "label": column.label,
        "garment": setup.garment.name,
        "thread": setup.thread.name,
        "backing": setup.backing.name,
        "needle": setup.needle.metric_size,
        "height_mm": round(column.prepared.region_map.height_mm, 2),
        "n_stitches": column.n_stitches,
        "minutes": figure_object(column.minutes),
        "each": money_object(column.each),
        "shows_through": None if column.shows is None else figure_object(column.shows),
        "specks": round(column.specks, 2),
        "drawn_in": None if column.drawn_in is None else figure_object(column.drawn_in),
        "times_stiffer": round(column.times_stiffer, 2),
        "warnings": list(column.warnings),
        "blocks": list(column.blocks),
    }


def change_object(change: AreaChange) -> dict[str, Any]:
    """Return what changed in one area as a plain object."""
    return {
        "before_id": change.before_id,
        "after_id": change.after_id,
        "thread": change.thread,
        "changes": list(change.changes),
        "reason": change.reason,
    }


def _column(prepared: Prepared) -> SetupColumn:
    forecast, setup = prepared.forecast, prepared.setup
    label = _("{garment}, {height} mm, {thread}, needle {needle}, {backing}").format(
        garment=setup.garment.label,
        height=round(prepared.region_map.height_mm),
        thread=setup.thread.label,
        needle=setup.needle.metric_size,
        backing=setup.backing.label,
    )
    by_middle = [r.show_through for r in forecast.regions]
    drawn = [a.drawn_in for a in forecast.settled_areas]
    return SetupColumn(
        prepared=prepared,
        label=label,
        n_stitches=prepared.plan.n_stitches,
        minutes=forecast.sewing_minutes,
        each=prepared.quote.each,
        shows=_largest(by_middle),
        specks=max((r.views[0].p95 for r in forecast.regions if r.views), default=0.0),
        drawn_in=_largest(drawn),
        times_stiffer=max((d.times_stiffer for d in forecast.drape), default=1.0),
        warnings=_codes(prepared, Severity.WARN),
        blocks=_codes(prepared, Severity.BLOCK),
    )


def _largest(figures: list[Figure]) -> Figure | None:
    return max(figures, key=lambda f: f.band.p50) if figures else None


def _codes(prepared: Prepared, severity: Severity) -> tuple[str, ...]:
    return tuple(sorted({f.code for f in prepared.findings if f.severity == severity}))


def compare_revisions(before: Prepared, after: Prepared) -> tuple[AreaChange, ...]:
    """Return the areas that changed from one revision to the next, largest first.

    Areas are paired by the ground they share, not by id, each revision brought to one height. An
    area that stays as it was is left out.
    """
    scale = after.region_map.height_mm / before.region_map.height_mm
    old = [(r, shapely.affinity.scale(r.polygon, scale, scale, origin=(0, 0)))
           for r in before.region_map.sewn_regions]  # fmt: skip
    new = [(r, r.polygon) for r in after.region_map.sewn_regions]
    pairs = _pairs(old, new)
    changes = []
    for one, other in pairs:
        told = _told(before, after, one, other)
        if told:
            changes.append(_change(before, after, one, other, told))
    matched_old = {one.id for one, _other in pairs}
    matched_new = {other.id for _one, other in pairs}
    for region, _shape in old:
        if region.id not in matched_old:
            name = before.region_map.thread_of(region).name
            changes.append(AreaChange(region.id, -1, name, (_("no longer sewn"),), ""))
    for region, _shape in new:
        if region.id not in matched_new:
            name = after.region_map.thread_of(region).name
            reason = _reason(after, region.id)
            changes.append(AreaChange(-1, region.id, name, (_("new"),), reason))
    return tuple(changes)


def _pairs(
    old: list[tuple[Region, shapely.Polygon]], new: list[tuple[Region, shapely.Polygon]]
) -> list[tuple[Region, Region]]:
    """Return the pairs that share most ground, each area at most once, largest pairs first."""
    if not old or not new:
        return []
    tree = shapely.STRtree([shape for _r, shape in new])
    found = []
    for i, (_region, shape) in enumerate(old):
        for j in tree.query(shape, predicate="intersects"):
            shared = shape.intersection(new[j][1]).area
            whole = shape.area + new[j][1].area - shared
            if shared >= SAME_AREA * whole:
                found.append((-shared, i, int(j)))
    pairs, used_old, used_new = [], set(), set()
    for _shared, i, j in sorted(found):
        if i not in used_old and j not in used_new:
            used_old.add(i)
            used_new.add(j)
            pairs.append((old[i][0], new[j][0]))
    return pairs


def _change(
    before: Prepared, after: Prepared, one: Region, other: Region, told: tuple[str, ...]
) -> AreaChange:
    del before
    name = after.region_map.thread_of(other).name
    return AreaChange(one.id, other.id, name, told, _reason(after, other.id))


def _reason(prepared: Prepared, region_id: int) -> str:
    found = (t.reason for t in prepared.plan.treatments if t.region_id == region_id)
    return next(found, "")


def _told(before: Prepared, after: Prepared, one: Region, other: Region) -> tuple[str, ...]:
    told = []
    threads = (before.region_map.thread_of(one).name, after.region_map.thread_of(other).name)
    if threads[0] != threads[1]:
        told.append(_("sewn in {new} instead of {old}").format(new=threads[1], old=threads[0]))
    was, now = _treatment(before, one.id), _treatment(after, other.id)
    if was is not None and now is not None:
        told += _treatment_changes(was, now)
    first, second = _forecast(before, one.id), _forecast(after, other.id)
    if first is not None and second is not None:
        told += _forecast_changes(first, second)
    return tuple(told)


def _treatment_changes(was: Treatment, now: Treatment) -> list[str]:
    told = []
    if was.stitch_type != now.stitch_type:
        told.append(_("{new} instead of {old}").format(new=now.stitch_type, old=was.stitch_type))
    elif abs(now.spacing_mm - was.spacing_mm) > TOLD_SHARE * max(was.spacing_mm, 0.1):
        told.append(_step(_("spacing"), was.spacing_mm, now.spacing_mm, "mm", 2))
    if abs(now.pull_mm - was.pull_mm) > TOLD_MM / 2:
        told.append(_step(_("widening a side"), was.pull_mm, now.pull_mm, "mm", 2))
    if was.underlay != now.underlay:
        names = ", ".join(now.underlay) or _("none")
        told.append(_("underlay: {names}").format(names=names))
    turned = abs(now.angle_rad - was.angle_rad) % 3.141592653589793
    if 0.05 < turned < 3.09:
        told.append(_("rows turned by {degrees}°").format(degrees=round(turned * 57.29578)))
    if now.n_stitches != was.n_stitches:
        told.append(_step(_("stitches"), was.n_stitches, now.n_stitches, "", 0))
    return told


def _forecast_changes(was: RegionForecast, now: RegionForecast) -> list[str]:
    seen = (was.show_through.band.p50, now.show_through.band.p50)
    told = []
    if abs(seen[1] - seen[0]) > TOLD_DE:
        told.append(_step(_("cloth shows through"), *seen, "ΔE00", 1))
    if abs(now.widest_gap_mm - was.widest_gap_mm) > TOLD_MM:
        told.append(_step(_("widest bare spot"), was.widest_gap_mm, now.widest_gap_mm, "mm", 1))
    return told


def _step(what: str, was: float, now: float, unit: str, digits: int) -> str:
    words = _("{what} from {was} to {now} {unit}").format(
        what=what, was=f"{was:.{digits}f}", now=f"{now:.{digits}f}", unit=unit
    )
    return words.rstrip()


def _treatment(prepared: Prepared, region_id: int) -> Treatment | None:
    return next((t for t in prepared.plan.treatments if t.region_id == region_id), None)


def _forecast(prepared: Prepared, region_id: int) -> RegionForecast | None:
    return next((r for r in prepared.forecast.regions if r.region_id == region_id), None)
