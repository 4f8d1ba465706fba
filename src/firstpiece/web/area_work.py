"""Work on single areas, done by a worker: edits carried out, and one area drawn in several ways.

Input: what the chain is asked for. Output: files for the run's folder. Both look tracing up where
it is known, so that what lies upstream of the areas is not done again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import InputError
from firstpiece.files.picture import write_png
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan, StitchSpec, StitchType
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.area_wishes import merge_wishes, read_wishes
from firstpiece.shop.cards import open_cards
from firstpiece.shop.lookup import open_shelf
from firstpiece.shop.prepare import edited_design, setup_of
from firstpiece.web.area_forms import OUTLINE_MM, OUTLINED
from firstpiece.web.area_object import areas_object
from firstpiece.web.run_files import AREAS, CLEANED, WAYS_PREFIX

if TYPE_CHECKING:
    from collections.abc import Callable

    from firstpiece.model.material import Setup
    from firstpiece.model.region import Region, RegionMap
    from firstpiece.shop.prepare import PrepareRequest

    Report = Callable[[float, str], None]

MARGIN_MM = 1.5
LONGEST_PX, MOST_PX_PER_MM = 260, 12.0
"""A picture is this long at most, and never so close that a thread is a rope."""

NO_STITCHES = StitchPlan(
    xy_mm=np.zeros((1, 2)),
    action=np.array([Action.END], dtype=np.uint8),
    thread=np.zeros(1, dtype=np.int16),
    region_id=np.full(1, -1, dtype=np.int32),
    role=np.zeros(1, dtype=np.uint8),
    threads=(ThreadColor("cloth", (0, 0, 0), 26.7),),
)


@dataclass(frozen=True, slots=True)
class Way:
    """One way to sew an area: its name, the wish that asks for it, and its words."""

    key: str
    wish: str
    words: str


BARE = "bare"
"""A way that, like ``OUTLINED``, is asked for by an edit, not by a wish."""

NARROW_MM, WIDE_MM, SATIN_MM = 1.0, 3.5, 10.0
"""Across an area at its widest: rows need more than the first, a line along the middle less than
the second, one satin column less than the third."""


def area_ways(widest_mm: float) -> tuple[Way, ...]:
    """Return the ways that are drawn for an area as wide as this, the plainest first."""
    ways = [Way(BARE, "", _("bare cloth")), Way(OUTLINED, "", _("its outline only"))]
    if widest_mm < WIDE_MM:
        ways.append(Way("line", "running", _("a line along its middle")))
    if widest_mm < SATIN_MM:
        ways.append(Way("satin", "satin", _("a satin column")))
    if widest_mm > NARROW_MM:
        ways += [
            Way("level", "fill, angle 0", _("filled, rows level")),
            Way("rising", "fill, angle 45", _("filled, rows rising")),
            Way("upright", "fill, angle 90", _("filled, rows upright")),
            Way("curved", "fill, course along the shape", _("filled along its own bend")),
            Way("open", "fill, rows 0.55", _("filled, rows 0.55 mm apart")),
        ]
    return tuple(ways)


def clean_areas(wanted: PrepareRequest, *, report: Report) -> dict[str, bytes]:
    """Return the cleaned areas after the edits, as values and as a drawing, by file name."""
    setup = setup_of(wanted, wanted.cards or open_cards())
    _artwork, design = edited_design(wanted, setup=setup, shelf=open_shelf(), report=report)
    content = areas_object(design.value)
    return {
        AREAS: json.dumps(content, ensure_ascii=False).encode(),
        CLEANED: write_regions_svg(design.value).encode(),
    }


def draw_ways(wanted: PrepareRequest, area: int, *, report: Report) -> dict[str, bytes]:
    """Return one area drawn as thread in every way that can sew it, by file name.

    Each is planned for this area alone, so its stitches are the ones that would be sewn, but for
    what neighbours take or add at the edge.
    """
    setup = setup_of(wanted, wanted.cards or open_cards())
    _artwork, design = edited_design(wanted, setup=setup, shelf=open_shelf(), report=report)
    try:
        region = design.value.region(area)
    except KeyError as fault:
        raise InputError(_("there is no such area")) from fault
    own = wanted.specs.get(area, StitchSpec())
    ways = area_ways(_widest_mm(region.polygon))
    pictures: dict[str, bytes] = {}
    listed: list[dict[str, str]] = []
    for number, way in enumerate(ways):
        report(number / len(ways), way.words)
        plan = _plan(_alone(design.value, region), way, own, setup)
        if plan is not None:
            name = f"{WAYS_PREFIX}{area}-{way.key}.png"
            pictures[name] = _draw(plan, region, setup)
            listed.append({"key": way.key, "wish": way.wish, "words": way.words})
    text = json.dumps(listed, ensure_ascii=False)
    return {**pictures, f"{WAYS_PREFIX}{area}.json": text.encode()}


def _widest_mm(polygon: shapely.Polygon) -> float:
    """Return the width of the largest circle inside, to a tenth of a millimetre."""
    return 2.0 * float(shapely.maximum_inscribed_circle(polygon, tolerance=0.05).length)


def _alone(design: RegionMap, region: Region) -> RegionMap:
    """Return the design with this area as the only one."""
    return replace(design, regions=(replace(region, beneath=None),), findings=())


def _plan(alone: RegionMap, way: Way, own: StitchSpec, setup: Setup) -> StitchPlan | None:
    """Return the area planned in one way; None when it is not sewn so, whatever is asked."""
    region = alone.regions[0]
    if way.key == BARE:
        return NO_STITCHES
    if region.is_bare:
        return None
    spec = StitchSpec(stitch_type=StitchType.RUNNING)
    if way.key == OUTLINED:
        ring = region.polygon.difference(region.polygon.buffer(-OUTLINE_MM))
        parts = [p for p in shapely.get_parts(ring) if isinstance(p, shapely.Polygon)]
        pieces = tuple(replace(region, id=n, polygon=p) for n, p in enumerate(parts))
        specs = {piece.id: spec for piece in pieces}
        return plan_stitches(replace(alone, regions=pieces), setup=setup, specs=specs)
    spec = merge_wishes(own, read_wishes([f"{region.id}: {way.wish}"])[region.id])
    plan = plan_stitches(alone, setup=setup, specs={region.id: spec})
    is_so = any(t.stitch_type == spec.stitch_type for t in plan.treatments)
    return plan if is_so else None


def _draw(plan: StitchPlan, region: Region, setup: Setup) -> bytes:
    left, bottom, right, top = region.polygon.buffer(MARGIN_MM).bounds
    scale = min(MOST_PX_PER_MM, LONGEST_PX / max(right - left, top - bottom))
    window = (left, bottom, right - left, top - bottom)
    return write_png(draw_sewout(plan, setup=setup, pixels_per_mm=scale, window_mm=window))
