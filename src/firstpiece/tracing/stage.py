"""The tracing stage: a picture or drawing becomes areas of one thread each, at a wanted height.

Input: ``Artwork``, a height in millimetres and the rack. Output: a ``RegionMap``. Pixels and
shapes take different ways to a labelled partition; from there on they are treated alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from firstpiece.errors import LengthError, PictureError
from firstpiece.geometry.partition import Partition, join_equal, shared_lengths
from firstpiece.kernels.color_difference import ciede2000, srgb_to_lab
from firstpiece.model.region import BARE, Region, RegionMap, TraceOptions
from firstpiece.tracing.components import drop_specks
from firstpiece.tracing.few_colors import ALIKE, merge_colors
from firstpiece.tracing.notes import Changes, trace_notes
from firstpiece.tracing.outline import SoftEdges, outline_labels
from firstpiece.tracing.painting import PAPER_COVER, flatten_shapes
from firstpiece.tracing.patches import absorb_specks
from firstpiece.tracing.segment import OPAQUE, SHADED_STRAY, mixing_colors, segment_pixels
from firstpiece.tracing.thread_match import match_threads

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.material import RGB, ThreadColor

LOWEST_MM, HIGHEST_MM = 5.0, 1000.0
BARE_MATCH = 20.0
"""A colour asked to be bare means no colour of the art that differs by more (CIEDE2000)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Traced:
    """A labelled partition in mm, the colours its labels name, and what was changed."""

    partition: Partition
    colors: tuple[RGB, ...]
    changes: Changes


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
        traced = _trace_pixels(artwork, height_mm, options)
    else:
        traced = _trace_shapes(artwork, height_mm, options)
    region_map = _region_map(traced, height_mm, rack)
    notes = trace_notes(region_map, traced.changes)
    return replace(region_map, findings=artwork.notes + notes)


def _trace_pixels(artwork: Artwork, height_mm: float, options: TraceOptions) -> _Traced:
    assert artwork.pixels is not None
    if not (artwork.pixels[:, :, 3] >= OPAQUE).any():
        what = _("the picture is transparent all over")
        raise PictureError(what, where=artwork.name, remedy=_("send the one with the art on it"))
    found = segment_pixels(artwork.pixels, options)
    if found.is_photo:
        what = _("this looks like a photograph: it has no flat areas of colour")
        remedy = _("send flat art with few colours, or have the picture redrawn")
        raise PictureError(what, where=artwork.name, remedy=remedy)
    colors = _rgb_of(found.palette)
    painted = found.labels[found.labels != BARE]
    areas = np.bincount(painted, minlength=len(colors)).astype(np.float64)
    chosen, n_merged = _choose_colors(colors, areas, options)
    labels = np.where(found.labels == BARE, BARE, chosen[found.labels]).astype(np.int32)
    _check_paint(labels, artwork.name)
    n_specks = 0
    mm_per_px = 1.0
    # Specks far out stretch the box; the second round measures without them.
    for _round in range(2):
        rows = np.flatnonzero((labels != BARE).any(axis=1))
        mm_per_px = height_mm / (rows[-1] - rows[0] + 1)
        labels, n = drop_specks(labels, smallest_px=options.smallest_mm / mm_per_px)
        n_specks += n
        _check_paint(labels, artwork.name)
    soft = SoftEdges(found.codes, found.paint, mixing_colors(found.palette))
    partition = outline_labels(labels, soft, mm_per_px=mm_per_px, smooth_mm=options.smooth_mm)
    changes = Changes(n_specks, n_merged, found.n_kept, found.stray > SHADED_STRAY)
    return _Traced(partition, colors, changes)


def _trace_shapes(artwork: Artwork, height_mm: float, options: TraceOptions) -> _Traced:
    painted = flatten_shapes(artwork, height_mm=height_mm, keep_background=options.keep_background)
    faces, labels = painted.partition.faces, painted.partition.labels
    areas = np.zeros(len(painted.colors))
    seen = labels != BARE
    np.add.at(areas, labels[seen], shapely.area(faces[seen]))
    chosen, n_merged = _choose_colors(painted.colors, areas, options)
    partition, n_specks = absorb_specks(
        Partition(faces, np.where(seen, chosen[labels], BARE)),
        is_line=painted.is_line,
        smallest_mm=options.smallest_mm,
    )
    if painted.paper_label != BARE:
        partition = _merge_with_paper(partition, painted.colors, painted.paper_label)
    _check_paint(partition.labels, artwork.name)
    if len(partition.faces) == 1 and _fills_canvas(artwork, partition.faces[0]):
        raise _one_color(artwork.name)
    return _Traced(partition, painted.colors, Changes(n_specks, n_merged))


def _choose_colors(
    colors: tuple[RGB, ...], areas: NDArray[np.float64], options: TraceOptions
) -> tuple[NDArray[np.int64], int]:
    """Return for each colour the one that is sewn for it, or BARE; and how many were merged."""
    stands_for = merge_colors(colors, areas, n_colors=options.n_colors)
    n_merged = int(((stands_for != np.arange(len(colors))) & (areas > 0)).sum())
    used = np.unique(stands_for[areas > 0])
    if options.bare_colors and len(used):
        art = srgb_to_lab(np.array([colors[i] for i in used.tolist()], dtype=np.float64))
        wanted = srgb_to_lab(np.array(options.bare_colors, dtype=np.float64))
        difference = ciede2000(wanted, art)
        nearest = used[difference.argmin(axis=1)[difference.min(axis=1) <= BARE_MATCH]]
        stands_for = np.where(np.isin(stands_for, nearest), BARE, stands_for)
    return stands_for, n_merged


def _check_paint(labels: NDArray[np.integer], name: str) -> None:
    """Refuse a map with nothing in it, or with one label from edge to edge."""
    if (labels == BARE).all():
        what = _("nothing is painted here that can be sewn at this height")
        raise PictureError(what, where=name, remedy=_("choose a larger height or other art"))
    if labels.ndim == 2 and (labels == labels[0, 0]).all():
        raise _one_color(name)


def _one_color(name: str) -> PictureError:
    what = _("one colour fills the whole picture, so there is no shape to sew")
    return PictureError(what, where=name, remedy=_("send a picture with a shape on it"))


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


def _rgb_of(palette: NDArray[np.float32]) -> tuple[RGB, ...]:
    rgb = cv2.cvtColor(palette[None].astype(np.float32), cv2.COLOR_LAB2RGB)[0]
    codes = np.clip(rgb * 255.0, 0, 255).round().astype(int).tolist()
    return tuple((int(r), int(g), int(b)) for r, g, b in codes)


def _region_map(traced: _Traced, height_mm: float, rack: tuple[ThreadColor, ...]) -> RegionMap:
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
