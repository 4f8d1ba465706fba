"""How each area is sewn and why: running, satin or fill, with spacing, length, underlay, widening.

Input: an area's shape and widths, the set-up and what a person asked for. Output: a ``Recipe``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.geometry.medial_axis import MedialAxis, medial_axis, widths_and_axis
from firstpiece.model.material import Weave
from firstpiece.model.stitch import (
    Motif,
    Relief,
    RowCourse,
    RunKind,
    StitchSpec,
    StitchType,
    Underlay,
)
from firstpiece.planning.drawn_lines import axis_of_lines
from firstpiece.planning.row_direction import row_angle

if TYPE_CHECKING:
    import shapely

    from firstpiece.geometry.medial_axis import InscribedWidths
    from firstpiece.model.material import Setup
    from firstpiece.model.region import CentreLine

# Widths in laid threads below which a line is run, and in mm up to which satin is sound (common
# practice, no source: satin from about 1 to 7 mm; wider loops snag).
RUNNING_THREADS = 2.0
SATIN_WIDEST_MM = 7.0
ROW_SPACING_THREADS = 0.95
COLUMN_SPACING_THREADS = 1.0
FILL_LENGTH_MM = 3.5
RUN_LENGTH_MM = 2.2
SATIN_LONGEST_MM = 7.5
UNDERLAY_FROM_MM2 = 12.0
LATTICE_FROM_MM2 = {True: 40.0, False: 150.0}
_SOFT = (Weave.KNIT, Weave.TERRY, Weave.FLEECE)


@dataclass(frozen=True, slots=True, eq=False)
class Recipe:
    """What planning decided for one area; ``spacing_mm`` as in ``Treatment``.

    ``axis`` is the medial axis of an area that is run, None for others; the rest as in
    ``StitchSpec``, with what is done when nothing is asked. ``fade_rad`` is the way along which the
    rows thin out, None for an even fill.
    """

    stitch_type: StitchType
    angle_rad: float
    spacing_mm: float
    length_mm: float
    underlay: tuple[Underlay, ...]
    pull_mm: float
    thread_mm: float
    reason: str
    axis: MedialAxis | None = None
    line: RunKind = RunKind.DOUBLE
    motif: Motif = Motif.SCALLOP
    relief: Relief = Relief.EVEN
    course: RowCourse = RowCourse.STRAIGHT
    guides: tuple[tuple[float, float, float], ...] = ()
    feather_mm: float = 0.0
    fade_rad: float | None = None


def choose_recipe(
    polygon: shapely.Polygon,
    *,
    setup: Setup,
    spec: StitchSpec,
    taken_rad: tuple[float, ...] = (),
    lines: tuple[CentreLine, ...] = (),
) -> Recipe:
    """Return how an area is sewn; whatever ``spec`` gives is taken as given.

    Parameters
    ----------
    polygon : shapely.Polygon
    setup : Setup
    spec : StitchSpec
    taken_rad : tuple of float [rad]
        Row directions of touching areas.
    lines : tuple of CentreLine
        The strokes it was drawn with, if it was.
    """
    thread_mm = setup.thread.laid_width_mm
    kind, reason, axis = _stitch_type(polygon, thread_mm, spec)
    pull = setup.fabric.pull.value if spec.pull_mm is None else spec.pull_mm
    underlay = _underlay(kind, polygon, setup) if spec.underlay is None else spec.underlay
    angle = spec.angle_rad
    if angle is None:
        angle = row_angle(polygon, taken_rad=taken_rad) if kind is StitchType.FILL else 0.0
    spacing, length = _spacing_and_length(kind, thread_mm, spec)
    if kind is not StitchType.RUNNING:
        axis = None
    elif lines:
        axis = axis_of_lines(lines)
    elif axis is None:
        axis = medial_axis(polygon)
    fade = None if spec.fade_to is None else (spec.fade_angle_rad or 0.0) % (2 * math.pi)
    return Recipe(
        kind, angle, spacing, length, underlay, pull, thread_mm, reason, axis,
        line=spec.run or RunKind.DOUBLE,
        motif=spec.motif or Motif.SCALLOP,
        relief=spec.relief or Relief.EVEN,
        course=spec.course or RowCourse.STRAIGHT,
        guides=spec.guides or (),
        feather_mm=spec.feather_mm or 0.0,
        fade_rad=fade,
    )  # fmt: skip


def _stitch_type(
    polygon: shapely.Polygon, thread_mm: float, spec: StitchSpec
) -> tuple[StitchType, str, MedialAxis | None]:
    asked = spec.stitch_type or _implied_type(spec)
    if asked is not None:
        return asked, _("Sewn this way because it was asked for."), None
    # A circle wider than satin fits in: no need of the axis, which is dear for large shapes.
    if not polygon.buffer(-SATIN_WIDEST_MM / 2, quad_segs=2).is_empty:
        reason = _("More than {width:.0f} mm wide, too wide for satin: filled with rows.")
        return StitchType.FILL, reason.format(width=SATIN_WIDEST_MM), None
    widths, axis = widths_and_axis(polygon)
    if widths.p90_mm < RUNNING_THREADS * thread_mm:
        reason = _("About {width:.1f} mm wide, too thin for satin: run there and back.")
        return StitchType.RUNNING, reason.format(width=widths.median_mm), axis
    if is_satin_shape(widths):
        reason = _("A band about {width:.1f} mm wide: satin across it.")
        return StitchType.SATIN, reason.format(width=widths.median_mm), axis
    reason = _("As wide as it is long, about {width:.1f} mm: filled with rows.")
    return StitchType.FILL, reason.format(width=widths.max_mm), axis


def _implied_type(spec: StitchSpec) -> StitchType | None:
    """Return the stitch type that a wish only makes sense for."""
    if spec.run is not None or spec.motif is not None:
        return StitchType.RUNNING
    fills = (spec.relief, spec.course, spec.guides, spec.feather_mm, spec.fade_to)
    return StitchType.FILL if any(wish is not None for wish in fills) else None


def is_satin_shape(widths: InscribedWidths) -> bool:
    """Return whether a shape is a band that satin carries: never too wide, longer than wide."""
    return widths.max_mm <= SATIN_WIDEST_MM and widths.length_mm >= 0.8 * widths.median_mm


def _spacing_and_length(
    kind: StitchType, thread_mm: float, spec: StitchSpec
) -> tuple[float, float]:
    if kind is StitchType.FILL:
        spacing, length = ROW_SPACING_THREADS * thread_mm, FILL_LENGTH_MM
        spacing = spec.row_spacing_mm or spacing
    elif kind is StitchType.SATIN:
        spacing, length = COLUMN_SPACING_THREADS * thread_mm, SATIN_LONGEST_MM
        spacing = spec.column_spacing_mm or spacing
    else:
        spacing, length = 0.0, RUN_LENGTH_MM
    return spacing, spec.stitch_length_mm or length


def _underlay(kind: StitchType, polygon: shapely.Polygon, setup: Setup) -> tuple[Underlay, ...]:
    """Return the usual underlay: more of it on soft cloth and under larger areas."""
    if kind is StitchType.RUNNING:
        return ()
    if kind is StitchType.SATIN:
        return (Underlay.CENTRE_RUN,)
    if polygon.area < UNDERLAY_FROM_MM2:
        return ()
    soft = setup.fabric.weave in _SOFT
    if polygon.area < LATTICE_FROM_MM2[soft]:
        return (Underlay.EDGE_RUN,)
    return (Underlay.EDGE_RUN, Underlay.LATTICE)
