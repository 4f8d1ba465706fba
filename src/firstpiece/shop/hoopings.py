"""Large goods and several pieces: a design in as many hoopings as it needs, or ganged in one.

Input: a ``PrepareRequest`` and a hoop. Output: plans by hooping with their marks, or one job that
holds all pieces; and the files of either.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import numpy as np

from firstpiece.errors import InputError
from firstpiece.files.picture import write_png
from firstpiece.files.region_drawing import write_regions_svg
from firstpiece.files.result_json import plan_object, write_json, write_plan_json
from firstpiece.files.safe_write import write_together
from firstpiece.files.shipped_fonts import shipped_fonts
from firstpiece.files.stitch_table import write_stitch_csv, write_threads_json
from firstpiece.model.frozen import content_hash
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.planning.gang import gang_pieces
from firstpiece.planning.hoop_marks import with_marks
from firstpiece.planning.hoop_split import split_hoopings
from firstpiece.planning.stage import plan_stitches
from firstpiece.shop.area_edits import edit_design
from firstpiece.shop.cards import open_cards
from firstpiece.shop.lookup import Kept, look_up, open_shelf
from firstpiece.shop.prepare import Prepared, carry_through, read_design, setup_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.material import Hoop, Setup, ThreadColor
    from firstpiece.model.region import RegionMap
    from firstpiece.model.stitch import StitchPlan
    from firstpiece.planning.hoop_split import Hooping
    from firstpiece.shop.prepare import PrepareRequest

PICTURE_PX_PER_MM = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class HoopedDesign:
    """A design in several hoopings.

    Parameters
    ----------
    hoop : Hoop
    setup : Setup
    hoopings : tuple of Hooping
    plans : tuple of StitchPlan
        One for each hooping, the hoop's centre at the origin, marks included.
    """

    hoop: Hoop
    setup: Setup
    hoopings: tuple[Hooping, ...]
    plans: tuple[StitchPlan, ...]


def hoop_design(
    request: PrepareRequest,
    hoop: str = "",
    *,
    report: Callable[[float, str], None] | None = None,
) -> HoopedDesign:
    """Return a picture's design in as many hoopings as a hoop needs.

    Parameters
    ----------
    request : PrepareRequest
    hoop : str
        Card name; empty takes the garment's largest.
    report : callable or None

    Raises
    ------
    PictureError, InputError, CardError
    """
    setup, design, _artwork = _design(request, report)
    card = _hoop(hoop, request, setup)
    hoopings = split_hoopings(design.value, card)
    plans = []
    for one in hoopings:
        part, key = one.region_map, f"{design.key} {card.name} {one.number}"
        plan = look_up(
            open_shelf(),
            "planning",
            (Kept(content_hash(key), part), setup),
            lambda part=part: plan_stitches(part, setup=setup),  # type: ignore[misc]
        ).value
        plans.append(_marked(plan, one, hoopings, setup))
    return HoopedDesign(card, setup, hoopings, tuple(plans))


def gang_design(
    request: PrepareRequest,
    hoop: str = "",
    *,
    border: str = "",
    border_mm: float = 3.0,
    n_pieces: int | None = None,
    report: Callable[[float, str], None] | None = None,
) -> tuple[Prepared, int]:
    """Return the job of several patches in one hoop, each with border and cut line, and how many.

    Parameters
    ----------
    request : PrepareRequest
    hoop : str
        Card name; empty takes the garment's largest.
    border : str
        Thread by its name on the rack; empty takes the darkest of the design.
    border_mm : float [mm]
    n_pieces : int or None
        None fills the hoop.
    report : callable or None

    Raises
    ------
    PictureError, InputError, CardError
    """
    setup, design, artwork = _design(request, report)
    gang = gang_pieces(
        design.value,
        _hoop(hoop, request, setup),
        border=_border(border, design.value, setup),
        border_mm=border_mm,
        n_pieces=n_pieces,
    )
    made = Kept(content_hash("gang", design.key, gang.region_map), gang.region_map)
    job = replace(request, specs=gang.specs, true_shape=False)
    prepared = carry_through(job, artwork, made, setup=setup, shelf=open_shelf(), report=report)
    return prepared, len(gang.centres_mm)


def write_hoopings(hooped: HoopedDesign, folder: Path) -> tuple[Path, ...]:
    """Write each hooping's stitch list, plan, areas and picture, and what joins them."""
    made: dict[str, bytes] = {
        "hoopings.json": write_json("hoopings", hoopings_object(hooped)).encode()
    }
    for one, plan in zip(hooped.hoopings, hooped.plans, strict=True):
        head = f"hooping-{one.number}-"
        picture = draw_sewout(
            plan, setup=hooped.setup, pixels_per_mm=PICTURE_PX_PER_MM, margin_mm=6.0
        )
        made |= {
            head + "stitches.csv": write_stitch_csv(plan).encode(),
            head + "threads.json": write_threads_json(plan).encode(),
            head + "plan.json": write_plan_json(plan).encode(),
            head + "regions.svg": write_regions_svg(one.region_map).encode(),
            head + "sewout.png": write_png(picture, dpi=PICTURE_PX_PER_MM * 25.4),
        }
    return write_together(folder, made)


def hoopings_object(hooped: HoopedDesign) -> dict[str, Any]:
    """Return what was decided: each hooping's centre, marks, cut and plan."""
    return {
        "hoop": hooped.hoop.name,
        "hoopings": [
            {
                "number": one.number,
                "sentence": hooping_words(one),
                "centre_mm": [round(v, 2) for v in one.centre_mm],
                "follows": one.follows,
                "marks_mm": np.round(one.marks_mm, 2).tolist(),
                "cut_mm": round(one.cut_mm, 1),
                "areas": [r.id for r in one.region_map.regions],
                "plan": plan_object(plan),
            }
            for one, plan in zip(hooped.hoopings, hooped.plans, strict=True)
        ],
    }


def hooping_words(one: Hooping) -> str:
    """Return one sentence on how a hooping is laid and what its line went through."""
    x, y = one.centre_mm
    if not one.follows:
        return _(
            "Hooping {n}: hoop centred {x:.1f} mm, {y:.1f} mm from the design's centre."
        ).format(n=one.number, x=x, y=y)
    words = _(
        "Hooping {n}: hoop centred {x:.1f} mm, {y:.1f} mm from the design's centre, laid on the two"
        " crosses that hooping {before} sewed; its line crosses {cut:.0f} mm of thread."
    )
    return words.format(n=one.number, x=x, y=y, before=one.follows, cut=one.cut_mm)


def _design(
    request: PrepareRequest, report: Callable[[float, str], None] | None
) -> tuple[Setup, Kept[RegionMap], Artwork]:
    tell = report or (lambda _fraction, _words: None)
    shelf = open_shelf()
    setup = setup_of(request, request.cards or open_cards())
    artwork, design = read_design(request, setup=setup, shelf=shelf, report=tell)
    fonts = {**shipped_fonts(), **request.fonts}
    edited = edit_design(design, request.edits, rack=setup.thread.colors, fonts=fonts, shelf=shelf)
    return setup, edited, artwork


def _hoop(name: str, request: PrepareRequest, setup: Setup) -> Hoop:
    if name:
        return (request.cards or open_cards()).hoop(name)
    if not setup.hoops:
        raise InputError(
            _("no hoop is named and the garment has none"), remedy=_("name a hoop card")
        )
    return max(setup.hoops, key=lambda h: (h.width_mm * h.height_mm, h.name))


def _border(name: str, design: RegionMap, setup: Setup) -> ThreadColor:
    if not name:
        used = {design.thread_of(r) for r in design.sewn_regions}
        return min(used, key=lambda t: (sum(t.rgb), t.name))
    for color in setup.thread.colors:
        if color.name == name:
            return color
    raise InputError(
        _("no thread on the rack is called “{name}”").format(name=name[:60]),
        remedy=_("for one: {names}").format(
            names=", ".join(c.name for c in setup.thread.colors[:6])
        ),
    )


def _marked(
    plan: StitchPlan, one: Hooping, hoopings: tuple[Hooping, ...], setup: Setup
) -> StitchPlan:
    """Return a hooping's plan with the marks it is laid on and those it sews, about its hoop."""
    centre = np.array(one.centre_mm)
    sewn = [h.marks_mm for h in hoopings if h.follows == one.number]
    return with_marks(
        plan,
        laid_on=one.marks_mm - centre,
        sewn=np.vstack(sewn) - centre if sewn else np.empty((0, 2)),
        machine=setup.machine,
    )
