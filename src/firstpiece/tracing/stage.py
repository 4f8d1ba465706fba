"""The tracing stage: a picture or drawing becomes areas of one thread each, at a wanted height.

Input: ``Artwork``, a height in millimetres and the rack. Output: a ``RegionMap``. Pixels and
shapes take different ways to a labelled partition; from there on they are treated alike.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import LengthError
from firstpiece.geometry.partition import Partition, join_equal, shared_lengths
from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab
from firstpiece.model.region import BARE, Region, RegionMap, TraceOptions
from firstpiece.tracing.few_colors import ALIKE
from firstpiece.tracing.notes import Changes, trace_notes
from firstpiece.tracing.painting import PAPER_COVER, flatten_shapes
from firstpiece.tracing.patches import absorb_specks
from firstpiece.tracing.pixel_areas import trace_pixels
from firstpiece.tracing.thread_match import match_threads
from firstpiece.tracing.traced import Traced, check_paint, choose_colors, one_color

if TYPE_CHECKING:
    from firstpiece.model.artwork import Artwork
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
        A planar partition, centred; ``region_faults`` finds nothing in it. Large areas come
        first. Bare areas are those enclosed by thread.

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
    if artwork.pixels is not None:
        traced = trace_pixels(artwork, height_mm, options)
    else:
        traced = _trace_shapes(artwork, height_mm, options)
    region_map = _region_map(traced, height_mm, rack)
    notes = trace_notes(region_map, traced.changes)
    return replace(region_map, findings=artwork.notes + notes)


def _trace_shapes(artwork: Artwork, height_mm: float, options: TraceOptions) -> Traced:
    painted = flatten_shapes(artwork, height_mm=height_mm, keep_background=options.keep_background)
    faces, labels = painted.partition.faces, painted.partition.labels
    areas = np.zeros(len(painted.colors))
    seen = labels != BARE
    np.add.at(areas, labels[seen], shapely.area(faces[seen]))
    chosen, n_merged = choose_colors(painted.colors, areas, options)
    partition, n_specks = absorb_specks(
        Partition(faces, np.where(seen, chosen[labels], BARE)),
        is_line=painted.is_line,
        smallest_mm=options.smallest_mm,
    )
    if painted.paper_label != BARE:
        partition = _merge_with_paper(partition, painted.colors, painted.paper_label)
    check_paint(partition.labels, artwork.name)
    if len(partition.faces) == 1 and _fills_canvas(artwork, partition.faces[0]):
        raise one_color(artwork.name)
    return Traced(partition, painted.colors, Changes(n_specks, n_merged))


def _fills_canvas(artwork: Artwork, face: shapely.Polygon) -> bool:
    """Whether the only face is a plain rectangle as large as the canvas."""
    x0, y0, x1, y1 = shapely.total_bounds([s.area for s in artwork.shapes or ()])
    is_full = (x1 - x0) * (y1 - y0) >= PAPER_COVER * artwork.width * artwork.height
    return bool(is_full and face.area > 0.9999 * face.envelope.area)


def _merge_with_paper(partition: Partition, colors: tuple[RGB, ...], paper_label: int) -> Partition:
    """Paint of the paper's own colour that touches bare paper cannot be told from it: bare too."""
    lab = srgb_to_lab(np.array(colors, dtype=np.float64))
    like_paper = ciede2000(lab, lab[paper_label : paper_label + 1])[:, 0] < ALIKE
    pairs, _lengths, _open = shared_lengths(partition.faces)
    labels = partition.labels.copy()
    both = np.vstack([pairs, pairs[:, ::-1]])
    face, other = both[:, 0], both[:, 1]
    meets = (partition.labels[other] == BARE) & (partition.labels[face] != BARE)
    meets &= like_paper[partition.labels[face]]
    labels[face[meets]] = BARE
    return join_equal(Partition(partition.faces, labels))


def _region_map(traced: Traced, height_mm: float, rack: tuple[ThreadColor, ...]) -> RegionMap:
    """Centre and scale exactly, number large areas first, match threads."""
    joined = join_equal(traced.partition)
    _pairs, _lengths, open_lengths = shared_lengths(joined.faces)
    kept = (joined.labels != BARE) | (open_lengths == 0)
    faces, labels = joined.faces[kept], joined.labels[kept]
    sewn = labels != BARE
    x0, y0, x1, y1 = shapely.total_bounds(faces[sewn])
    scale = height_mm / (y1 - y0)
    centre = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    faces = shapely.transform(faces, lambda xy: (xy - centre) * scale)
    order = np.argsort(-shapely.area(faces), kind="stable")
    used = np.unique(labels[sewn])
    number = {int(label): i for i, label in enumerate(used.tolist())} | {BARE: BARE}
    regions = tuple(
        Region(i, faces[j], number[int(labels[j])]) for i, j in enumerate(order.tolist())
    )
    matches = match_threads(tuple(traced.colors[label] for label in used.tolist()), rack)
    return RegionMap(regions, matches, float((x1 - x0) * scale), height_mm)
