"""A picture to a labelled partition in millimetres.

Input: RGBA pixels and the wanted height. Output: ``Traced``, in the frame of the picture.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import PictureError
from firstpiece.model.region import BARE, TraceOptions
from firstpiece.tracing.components import drop_specks
from firstpiece.tracing.notes import Changes
from firstpiece.tracing.outline import SoftEdges, outline_labels
from firstpiece.tracing.segment import OPAQUE, SHADED_STRAY, mixing_colors, segment_pixels
from firstpiece.tracing.traced import Traced, check_paint, choose_colors, rgb_of

if TYPE_CHECKING:
    from firstpiece.model.artwork import Artwork


def trace_pixels(artwork: Artwork, height_mm: float, options: TraceOptions) -> Traced:
    """Return the areas of a picture.

    Parameters
    ----------
    artwork : Artwork
        With pixels.
    height_mm : float [mm]
        Height of the painted box.
    options : TraceOptions

    Raises
    ------
    PictureError
        When it is clear, a photograph, or of one colour.
    """
    assert artwork.pixels is not None
    if not (artwork.pixels[:, :, 3] >= OPAQUE).any():
        what = _("the picture is transparent all over")
        raise PictureError(what, where=artwork.name, remedy=_("send the one with the art on it"))
    found = segment_pixels(artwork.pixels, options)
    if found.is_photo:
        what = _("this looks like a photograph: it has no flat areas of colour")
        remedy = _("send flat art with few colours, or have the picture redrawn")
        raise PictureError(what, where=artwork.name, remedy=remedy)
    colors = rgb_of(found.palette)
    painted = found.labels[found.labels != BARE]
    areas = np.bincount(painted, minlength=len(colors)).astype(np.float64)
    chosen, n_merged = choose_colors(colors, areas, options)
    labels = np.where(found.labels == BARE, BARE, chosen[found.labels]).astype(np.int32)
    check_paint(labels, artwork.name)
    n_specks = 0
    mm_per_px = 1.0
    # Specks far out stretch the box; the second round measures without them.
    for _round in range(2):
        rows = np.flatnonzero((labels != BARE).any(axis=1))
        mm_per_px = height_mm / (rows[-1] - rows[0] + 1)
        labels, n = drop_specks(labels, smallest_px=options.smallest_mm / mm_per_px)
        n_specks += n
        check_paint(labels, artwork.name)
    soft = SoftEdges(found.codes, found.paint, mixing_colors(found.palette))
    drawn = outline_labels(labels, soft, mm_per_px=mm_per_px, smooth_mm=options.smooth_mm)
    is_shaded = found.stray > SHADED_STRAY
    changes = Changes(n_specks, n_merged, found.n_kept, is_shaded, found.unevenness, drawn.moved_mm)
    size_mm = (labels.shape[1] * mm_per_px, labels.shape[0] * mm_per_px)
    return Traced(drawn.partition, colors, changes, size_mm, drawn.n_nodes)
