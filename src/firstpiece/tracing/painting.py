"""Painted shapes to a partition: what is seen of each when later paint covers earlier paint.

Input: shapes in painting order. Output: faces in millimetres, y up, labelled by colour. All
outlines are cut against each other once, on a fine grid, so neighbours share every edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.geometry.partition import Partition, cut_plane
from firstpiece.kernels.color_difference import srgb_to_lab
from firstpiece.model.region import BARE
from firstpiece.tracing.paper import is_paper
from firstpiece.tracing.patches import SLIVER_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.artwork import Artwork
    from firstpiece.model.material import RGB

GRID_MM = 0.001
LEAST_SLIT_MM2 = 0.02
PAPER_COVER = 0.995
"""A shape of paper colour that covers this share of the canvas is the paper."""


@dataclass(frozen=True, slots=True, eq=False)
class PaintedFaces:
    """What is seen of a drawing.

    Parameters
    ----------
    partition : Partition
        Faces in mm, y up; labels index ``colors`` or are BARE.
    is_line : (n,) bool
        Faces whose visible paint was drawn as a line with a width.
    colors : tuple of RGB
        One for each label.
    paper_label : int
        Label of the sheet the art was painted on, or BARE when it has none.
    """

    partition: Partition
    is_line: NDArray[np.bool_]
    colors: tuple[RGB, ...]
    paper_label: int


def flatten_shapes(artwork: Artwork, *, height_mm: float, keep_background: bool) -> PaintedFaces:
    """Return the visible faces of a drawing.

    Parameters
    ----------
    artwork : Artwork
        With shapes.
    height_mm : float [mm]
        Wanted height of the painted box; exact only when no paper lies below the art.
    keep_background : bool
        True keeps a sheet of paper colour that covers the canvas.
    """
    shapes = artwork.shapes or ()
    areas = np.array([s.area for s in shapes], dtype=object)
    colors = tuple(dict.fromkeys(s.rgb for s in shapes))
    number = {rgb: i for i, rgb in enumerate(colors)}
    label_of = np.array([number[s.rgb] for s in shapes], dtype=np.int64)
    is_sheet = np.zeros(len(shapes), dtype=bool)
    if not keep_background:
        is_sheet = _paper_sheets(areas, label_of, colors, artwork.width * artwork.height)
    seen = areas[~is_sheet] if not is_sheet.all() else areas
    x0, y0, x1, y1 = shapely.total_bounds(seen)
    scale = height_mm / max(y1 - y0, 1e-9)
    flip = np.array([scale, -scale])
    origin = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    areas = shapely.transform(areas, lambda xy: (xy - origin) * flip)
    outlines = [*shapely.boundary(areas), *_slits(areas)]
    faces = cut_plane(outlines, grid=GRID_MM)
    top = _topmost(areas, faces)
    paper_label = int(label_of[0]) if is_sheet.any() else BARE
    label_of = np.where(is_sheet, BARE, label_of)
    labels = np.where(top >= 0, label_of[top], BARE)
    is_line = np.array([s.is_stroke for s in shapes])[top] & (top >= 0)
    return PaintedFaces(Partition(faces, labels), is_line, colors, paper_label)


def _paper_sheets(
    areas: NDArray[np.object_],
    label_of: NDArray[np.int64],
    colors: tuple[RGB, ...],
    canvas_area: float,
) -> NDArray[np.bool_]:
    """Which shapes are the paper: the first ones, paper coloured, as large as the canvas."""
    paper = is_paper(srgb_to_lab(np.array(colors, dtype=np.float64)))[label_of]
    sheets = paper & (shapely.area(areas) >= PAPER_COVER * canvas_area)
    # Only what nothing was painted before can be the paper.
    mask: NDArray[np.bool_] = np.logical_and.accumulate(sheets)
    return mask


def _slits(areas: NDArray[np.object_]) -> list[shapely.Geometry]:
    """Outlines of hairline gaps between shapes, which then become faces and can be closed.

    A gap that is open at its ends would be part of the ground around the art.
    """
    union = shapely.union_all(areas, grid_size=GRID_MM)
    reach = SLIVER_MM / 2.0
    closed = union.buffer(reach, quad_segs=2).buffer(-reach, quad_segs=2)
    gaps = shapely.get_parts(shapely.difference(closed, union))
    return list(shapely.boundary(gaps[shapely.area(gaps) > LEAST_SLIT_MM2]))


def _topmost(areas: NDArray[np.object_], faces: NDArray[np.object_]) -> NDArray[np.int64]:
    """Return for each face the last shape painted over it, or -1."""
    inside = shapely.point_on_surface(faces)
    tree = shapely.STRtree(areas)
    face, shape = tree.query(inside, predicate="intersects")
    top = np.full(len(faces), -1, dtype=np.int64)
    np.maximum.at(top, face, shape)
    return top
