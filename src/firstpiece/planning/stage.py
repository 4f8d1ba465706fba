"""Regions to stitches: decide each area, order them, sew them, join and tie the runs.

Input: a ``RegionMap``, the ``Setup`` and a person's ``StitchSpec`` for some areas. Output: a
``StitchPlan``. Everything is decided in sorted order, so equal inputs give equal bytes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import InputError
from firstpiece.model.frozen import content_hash
from firstpiece.model.memo import Memo
from firstpiece.model.stitch import Action, SewFrom, StitchPlan, StitchSpec, StitchType, Treatment
from firstpiece.planning.area_stitches import column_widening, sew_area
from firstpiece.planning.beneath import carried_on, lying_on
from firstpiece.planning.compensation import close_under, reach_under, set_outline
from firstpiece.planning.corridors import Corridors
from firstpiece.planning.explaining import SewnWhen, explain_area, explain_changes
from firstpiece.planning.fading import fading_areas, second_layer_spec, second_layers
from firstpiece.planning.fitting import fitting_findings
from firstpiece.planning.letter_forms import LetterForms, letter_ranks, sew_form
from firstpiece.planning.linking import Leg, link_legs
from firstpiece.planning.needle_holes import thin_holes
from firstpiece.planning.precedence import (
    Place,
    is_wide,
    lies_under,
    touching_pairs,
    weigh_precedence,
)
from firstpiece.planning.recipe import Recipe, choose_recipe
from firstpiece.planning.sequence import SewingOrder, sewing_order, usual_start
from firstpiece.planning.stitch_list import DIGITS, StitchListWriter

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.model.material import Setup, ThreadColor
    from firstpiece.model.region import CentreLine, Region, RegionMap

    Floats = NDArray[np.float64]

NO_SPECS: Mapping[int, StitchSpec] = {}
NO_OUTLINES: Mapping[int, shapely.Polygon] = {}


@dataclass(frozen=True, slots=True, eq=False)
class _Areas:
    """The sewn areas with what was decided for each, all by position."""

    regions: tuple[Region, ...]
    recipes: list[Recipe]
    threads: list[int]
    shapes: list[shapely.Polygon]
    order: list[int]
    pairs: list[tuple[int, int]]
    fewest_changes: int
    letters: LetterForms


def plan_stitches(
    region_map: RegionMap,
    *,
    setup: Setup,
    specs: Mapping[int, StitchSpec] = NO_SPECS,
    outlines: Mapping[int, shapely.Polygon] = NO_OUTLINES,
    memo: Memo | None = None,
    sew_from: SewFrom | None = None,
) -> StitchPlan:
    """Return the stitch plan of a design on a set-up.

    Parameters
    ----------
    region_map : RegionMap
    setup : Setup
    specs : mapping of int to StitchSpec
        What a person asked for, by ``Region.id``.
    outlines : mapping of int to shapely.Polygon [mm]
        Where the needle should go instead of the art's own edge, by ``Region.id``: a fill's
        widening against pull is then left to it. What is only run along takes none.
    memo : Memo or None
        Of earlier plans: areas that would be sewn just as before are not worked out again. The
        plan is the same with it and without.
    sew_from : SewFrom or None
        Where each thread begins; None begins caps at the rim and anything else where it is nearest.

    Raises
    ------
    InputError
        When the map holds no area to sew, or a spec names an area that does not exist.
    """
    _check(region_map.sewn_regions, specs)
    regions, middle = _centred(region_map.sewn_regions)
    wanted = [region_map.thread_of(r) for r in regions]
    fading = fading_areas(regions, specs, setup)
    regions += tuple(regions[k] for k, _ in fading)
    wanted += [thread for _, thread in fading]
    rack: list[ThreadColor] = sorted(set(wanted), key=lambda t: (t.name, t.rgb, t.tex))
    threads = [rack.index(thread) for thread in wanted]
    known = memo or Memo()
    set_out = {i: shapely.transform(p, lambda xy: xy - middle) for i, p in outlines.items()}
    order = _order(regions, threads, specs, sew_from or usual_start(setup))
    letters = LetterForms(regions, middle)
    areas = _set_out(_decide(regions, threads, setup, specs, (*order, letters, known)), set_out)
    ties_mm = {i: s.tie_mm for i, s in specs.items() if s.tie_mm is not None}
    legs, corridors = _sew_all(areas, rack, known)
    sewn = link_legs(legs, corridors, ties_mm, trim_over_mm=setup.machine.trim_over_mm)
    runs = thin_holes(sewn, thread_mm=setup.thread.laid_width_mm)
    first_use = list(dict.fromkeys(run.thread for run in runs))
    rename = {t: k for k, t in enumerate(first_use)}
    writer = StitchListWriter(setup.machine)
    sequence = [rename[run.thread] for run in runs]
    for k, run in enumerate(runs):
        renamed = replace(run, thread=sequence[k])
        writer.add_run(renamed, sequence[k + 1 :])
    xy, rows = writer.columns()
    xy = np.round(xy + np.round(middle, DIGITS), DIGITS)
    return StitchPlan(
        xy_mm=xy,
        action=rows[:, 0].astype(np.uint8),
        thread=rows[:, 1].astype(np.int16),
        region_id=rows[:, 2].astype(np.int32),
        role=rows[:, 3].astype(np.uint8),
        threads=tuple(rack[t] for t in first_use),
        treatments=_treatments(areas, rows, rename),
        findings=fitting_findings(xy, rows[:, 0], first_use, setup),
        fewest_changes=areas.fewest_changes,
        order_explanation=explain_changes(
            int(np.count_nonzero(rows[:, 0] == Action.COLOR_CHANGE)),
            areas.fewest_changes,
            len(first_use),
        ),
    )


def _check(regions: tuple[Region, ...], specs: Mapping[int, StitchSpec]) -> None:
    if not regions:
        msg = _("the design has no area to sew")
        raise InputError(msg, remedy=_("keep at least one colour that is not bare cloth"))
    known = {r.id for r in regions}
    unknown = sorted(set(specs) - known)
    if unknown:
        msg = _("area {number} is not an area that is sewn").format(number=unknown[0])
        raise InputError(msg, remedy=_("name an area of this design"))


def _centred(regions: tuple[Region, ...]) -> tuple[tuple[Region, ...], Floats]:
    """Return the areas about their common middle on a grid of a nanometre, and that middle.

    Equal art gives equal decisions wherever it lies: no rounding of sums can tip a choice.
    """
    x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in regions])
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    moved = []
    for region in regions:
        polygon = shapely.transform(region.polygon, lambda xy: np.round(xy - middle, 6))
        if not polygon.is_valid:
            polygon = shapely.transform(region.polygon, lambda xy: xy - middle)
        beneath = region.beneath
        if beneath is not None:
            beneath = shapely.transform(beneath, lambda xy: xy - middle)
        lines = tuple(replace(line, xy_mm=line.xy_mm - middle) for line in region.lines)
        moved.append(replace(region, polygon=polygon, lines=lines, beneath=beneath))
    return tuple(moved), middle


def _order(
    regions: tuple[Region, ...],
    threads: list[int],
    specs: Mapping[int, StitchSpec],
    sew_from: SewFrom,
) -> tuple[SewingOrder, list[tuple[int, int]]]:
    """Return the sewing order and the pairs of areas that touch."""
    polygons = [r.polygon for r in regions]
    pairs = touching_pairs(polygons)
    wishes = [specs.get(r.id, StitchSpec()) for r in regions]
    places = [
        Place(
            polygon,
            thread,
            wish.order,
            is_filled=wish.stitch_type in (None, StitchType.FILL) and is_wide(polygon),
            letter=letter,
        )
        for polygon, thread, wish, letter in zip(
            polygons, threads, wishes, letter_ranks(regions), strict=True
        )
    ]
    before = lies_under(places, pairs)
    again = second_layers(regions)
    for k, first in again.items():
        before[k].add(first)
        before[first].discard(k)
    fixed = set(again.items())
    for k, upper in lying_on(regions).items():
        before[k] -= upper
        fixed |= {(j, k) for j in upper}
        for j in upper:
            before[j].add(k)
    precedence = weigh_precedence(places, before, always=fixed)
    return sewing_order(places, precedence, sew_from=sew_from), pairs


def _decide(
    regions: tuple[Region, ...],
    threads: list[int],
    setup: Setup,
    specs: Mapping[int, StitchSpec],
    known: tuple[SewingOrder, list[tuple[int, int]], LetterForms, Memo],
) -> _Areas:
    """Choose recipes and shapes for all areas, in the order found."""
    found, pairs, letters, memo = known
    order = found.positions
    polygons = [r.polygon for r in regions]
    neighbours: list[list[int]] = [[] for _ in regions]
    for i, j in pairs:
        neighbours[i].append(j)
        neighbours[j].append(i)
    under = [carried_on(r, s) for r, s in zip(regions, polygons, strict=True)]
    closed = close_under(under, pairs, order)
    again = second_layers(regions)
    choose = _Chooser(setup, content_hash(setup))
    recipes: dict[int, Recipe] = {}
    for k in sorted(range(len(regions)), key=lambda k: (-polygons[k].area, regions[k].id)):
        taken = tuple(
            recipes[j].angle_rad
            for j in neighbours[k]
            if j in recipes and recipes[j].stitch_type is StitchType.FILL
        )
        spec = specs.get(regions[k].id, StitchSpec())
        if k in again:
            spec = second_layer_spec(spec)
        form = letters.form_of(regions[k], closed[k])
        if form is not None:
            recipes[k] = _recipe(form, choose, spec, (), memo)
            continue
        recipes[k] = _recipe(closed[k], choose, spec, taken, memo, regions[k].lines)
        if recipes[k].stitch_type is not StitchType.FILL and closed[k] is not polygons[k]:
            closed[k] = polygons[k]
            recipes[k] = _recipe(closed[k], choose, spec, taken, memo, regions[k].lines)
    sorted_recipes = [recipes[k] for k in range(len(regions))]
    return _Areas(
        regions, sorted_recipes, threads, closed, order, pairs, found.fewest_changes, letters
    )


def _set_out(areas: _Areas, outlines: Mapping[int, shapely.Polygon]) -> _Areas:
    """Return the areas with the shapes to sew: set out as asked, reaching under later ones."""
    shapes, recipes = list(areas.shapes), list(areas.recipes)
    for k, region in enumerate(areas.regions):
        if region.id in outlines and recipes[k].stitch_type is not StitchType.RUNNING:
            shapes[k] = set_outline(outlines[region.id], shapes[k], region.polygon)
            if recipes[k].stitch_type is StitchType.FILL:
                recipes[k] = replace(recipes[k], pull_mm=0.0)
    grown = reach_under(shapes, areas.pairs, areas.order)
    # Only rows follow a grown shape well; columns and runs follow the art's own outline.
    is_fill = [r.stitch_type is StitchType.FILL for r in recipes]
    shapes = [g if f else p for g, f, p in zip(grown, is_fill, shapes, strict=True)]
    return replace(areas, recipes=recipes, shapes=shapes)


@dataclass(frozen=True, slots=True)
class _Chooser:
    """A set-up with its hash, which costs more than that of an area and is wanted for each."""

    setup: Setup
    key: str


def _recipe(
    polygon: shapely.Polygon,
    chooser: _Chooser,
    spec: StitchSpec,
    taken: tuple[float, ...],
    memo: Memo,
    lines: tuple[CentreLine, ...] = (),
) -> Recipe:
    return memo.recall(
        "recipe",
        (chooser.key, content_hash(polygon, spec, taken, lines)),
        partial(
            choose_recipe, polygon, setup=chooser.setup, spec=spec, taken_rad=taken, lines=lines
        ),
    )


def _sew_all(areas: _Areas, rack: list[ThreadColor], memo: Memo) -> tuple[list[Leg], Corridors]:
    """Sew the areas in order, each from where the last ended towards the next."""
    legs: list[Leg] = []
    here: Floats | None = None
    for n, k in enumerate(areas.order):
        shape = areas.shapes[k]
        following = areas.order[n + 1] if n + 1 < len(areas.order) else None
        goal = None
        if following is not None and areas.threads[following] == areas.threads[k]:
            goal = _nearest_place(shape, areas.shapes[following])
        entry = _entry(shape, here)
        form = areas.letters.form_of(areas.regions[k], shape)
        if form is not None:
            upright = memo.recall(
                "letter stitches",
                content_hash(form, areas.recipes[k]),
                partial(sew_form, form, areas.recipes[k]),
            )
            paths = areas.letters.carried(areas.regions[k], upright)
        else:
            paths = memo.recall(
                "area stitches",
                content_hash(shape, areas.recipes[k], entry, goal),
                partial(sew_area, shape, areas.recipes[k], entry_mm=entry, exit_mm=goal),
            )
        for path in paths:
            legs.append(Leg(path, areas.regions[k].id, areas.threads[k], n))
            here = path.end
    corridors = Corridors(
        [areas.regions[k].polygon for k in areas.order],
        [_lightness(rack[areas.threads[k]]) for k in areas.order],
    )
    return legs, corridors


def _lightness(thread: ThreadColor) -> float:
    """Return the CIE 1976 lightness of a thread, 0 to 100."""
    linear = (np.array(thread.rgb) / 255) ** 2.2
    return float(116 * np.cbrt(linear @ [0.2126, 0.7152, 0.0722]) - 16)


def _entry(shape: shapely.Polygon, here: Floats | None) -> Floats:
    if here is None:
        return np.array(shape.exterior.coords[0])
    return _nearest_place(shape, shapely.Point(here))


def _nearest_place(shape: shapely.Polygon, other: shapely.Geometry) -> Floats:
    line = shapely.shortest_line(shape, other)
    return np.asarray(line.coords[0])


def _treatments(
    areas: _Areas, rows: NDArray[np.int64], rename: dict[int, int]
) -> tuple[Treatment, ...]:
    stitches = rows[rows[:, 0] == 0]
    ids, counts = np.unique(stitches[:, 2], return_counts=True)
    n_by_id = dict(zip(ids.tolist(), counts.tolist(), strict=True))
    when = {k: n for n, k in enumerate(areas.order)}
    made = []
    second = second_layers(areas.regions)
    whens = _whens(areas, when)
    for k, region in enumerate(areas.regions):
        if k in second:
            continue
        r = areas.recipes[k]
        if areas.letters.form_of(region, areas.shapes[k]) is not None:
            r = areas.letters.turned(region, r)
        made.append(
            Treatment(
                region_id=region.id,
                stitch_type=r.stitch_type,
                angle_rad=r.angle_rad,
                spacing_mm=r.spacing_mm,
                stitch_length_mm=r.length_mm,
                underlay=r.underlay,
                pull_mm=r.pull_mm,
                thread_index=rename.get(areas.threads[k], 0),
                sewn_order=when[k],
                n_stitches=n_by_id.get(region.id, 0),
                reason=r.reason,
                explanation=explain_area(r, whens[k]),
                widened_mm=column_widening(region.polygon, r)
                if r.stitch_type is StitchType.SATIN
                else None,
            )
        )
    return tuple(made)


def _whens(areas: _Areas, when: dict[int, int]) -> list[SewnWhen]:
    """Return, for each area, its place in the order and what it touches before and after."""
    under: list[list[int]] = [[] for _ in areas.regions]
    over: list[list[int]] = [[] for _ in areas.regions]
    for i, j in areas.pairs:
        first, then = (i, j) if when[i] < when[j] else (j, i)
        if areas.regions[i].id == areas.regions[j].id or areas.threads[i] == areas.threads[j]:
            continue
        under[then].append(areas.regions[first].id)
        over[first].append(areas.regions[then].id)
    before = {k: areas.order[n - 1] for n, k in enumerate(areas.order) if n}
    return [
        SewnWhen(
            when[k],
            len(areas.order),
            tuple(under[k]),
            tuple(over[k]),
            k in before and areas.threads[before[k]] == areas.threads[k],
        )
        for k in range(len(areas.regions))
    ]
