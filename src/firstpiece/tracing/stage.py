"""The tracing stage: a picture or drawing becomes areas of one thread each, at a wanted height."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.errors import LengthError, PictureError
from firstpiece.geometry.partition import Partition, join_equal
from firstpiece.model.region import BARE, Region, RegionMap, TraceOptions
from firstpiece.tracing.components import drop_specks
from firstpiece.tracing.outline import outline_labels
from firstpiece.tracing.segment import segment_pixels
from firstpiece.tracing.thread_match import match_threads

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.finding import Finding
    from firstpiece.model.material import RGB, ThreadColor

LOWEST_MM, HIGHEST_MM = 5.0, 1000.0


def trace_artwork(
    artwork: Artwork,
    *,
    height_mm: float,
    rack: tuple[ThreadColor, ...],
    options: TraceOptions = TraceOptions(),  # noqa: B008 (frozen)
) -> RegionMap:
    """Return the cleaned design.

    Parameters
    ----------
    artwork : Artwork
    height_mm : float [mm]
        Height of the painted box, 5 to 1000.
    rack : tuple of ThreadColor
        Threads to choose from, at least one.
    options : TraceOptions

    Returns
    -------
    RegionMap
        A planar partition, centred; ``region_faults`` finds nothing in it.

    Raises
    ------
    LengthError
        When the height is out of range.
    PictureError
        When there is nothing to sew or the picture is not flat art.
    """
    if not LOWEST_MM <= height_mm <= HIGHEST_MM:
        what = _("a height of {mm:g} mm is out of range").format(mm=height_mm)
        raise LengthError(what, remedy=_("choose 5 to 1000 mm"))
    if artwork.pixels is None:
        raise PictureError(_("drawings are not traced yet"), where=artwork.name)
    partition, colors = _trace_pixels(artwork, height_mm, options)
    return _region_map(partition, colors, height_mm, rack, artwork.notes)


def _trace_pixels(
    artwork: Artwork, height_mm: float, options: TraceOptions
) -> tuple[Partition, tuple[RGB, ...]]:
    assert artwork.pixels is not None
    found = segment_pixels(artwork.pixels, options)
    labels = found.labels
    for _round in range(2):
        painted = np.flatnonzero((labels != BARE).any(axis=1))
        if not len(painted):
            raise PictureError(
                _("nothing is painted here"),
                where=artwork.name,
                remedy=_("send a picture with something on it"),
            )
        mm_per_px = height_mm / (painted[-1] - painted[0] + 1)
        labels, _n = drop_specks(labels, smallest_px=options.smallest_mm / mm_per_px)
    partition = outline_labels(labels, mm_per_px=mm_per_px, smooth_mm=options.smooth_mm)
    return partition, _rgb_of(found.palette)


def _rgb_of(palette: NDArray[np.float32]) -> tuple[RGB, ...]:
    rgb = cv2.cvtColor(palette[None].astype(np.float32), cv2.COLOR_LAB2RGB)[0]
    codes = np.clip(rgb * 255.0, 0, 255).round().astype(int).tolist()
    return tuple((int(r), int(g), int(b)) for r, g, b in codes)


def _region_map(
    partition: Partition,
    colors: tuple[RGB, ...],
    height_mm: float,
    rack: tuple[ThreadColor, ...],
    findings: tuple[Finding, ...],
) -> RegionMap:
    """Centre and scale exactly, number large areas first, match threads."""
    joined = join_equal(partition)
    sewn = joined.labels != BARE
    x0, y0, x1, y1 = shapely.total_bounds(joined.faces[sewn])
    scale = height_mm / (y1 - y0)
    centre = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    faces = shapely.transform(joined.faces, lambda xy: (xy - centre) * scale)
    order = np.argsort(-shapely.area(faces), kind="stable")
    used = np.unique(joined.labels[sewn])
    number = {int(label): i for i, label in enumerate(used.tolist())} | {BARE: BARE}
    regions = tuple(
        Region(i, faces[j], number[int(joined.labels[j])]) for i, j in enumerate(order.tolist())
    )
    matches = match_threads(tuple(colors[label] for label in used.tolist()), rack)
    return RegionMap(regions, matches, (x1 - x0) * scale, height_mm, findings)
