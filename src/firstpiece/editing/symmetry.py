"""Symmetry that a design nearly has: found, told with its error in mm, offered and never forced.

Input: a design, or some of its areas. Output: ``Symmetry`` values, best first; ``make_even`` makes
one exact by copying the kept part.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.editing.addressing import find_areas
from firstpiece.editing.means import Edited
from firstpiece.editing.patchwork import GRID_MM
from firstpiece.editing.placing import LaidShape, lay_shapes
from firstpiece.errors import EditError
from firstpiece.geometry.contours import areas_of
from firstpiece.geometry.polygon import paint_polygon

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from firstpiece.editing.means import EditMeans
    from firstpiece.geometry.contours import Area
    from firstpiece.model.edit import MakeEven
    from firstpiece.model.region import Region, RegionMap

    Image = Callable[[NDArray[np.float64]], NDArray[np.float64]]

PIXELS = 96
"""Side of the raster on which symmetries are looked for."""

LEAST_AGREEMENT = 0.9
"""Share of the painted raster that must agree with its image before a symmetry is offered."""

PARTNER_IOU = 0.6
"""An area and the image of its partner overlap by at least this share of their union."""

FOLDS = (2, 3, 4, 5, 6, 8)
_STEPS = 60
"""Directions tried for a mirror line: every three degrees, then refined."""


MOST_MIRRORS = 4
"""A disc has a mirror line in every direction; a few are enough to choose from."""

FAR_MM = 5000.0


@dataclass(frozen=True, slots=True)
class Symmetry:
    """A symmetry that is nearly there.

    Parameters
    ----------
    centre_mm : tuple of float [mm]
    angle_rad : float [rad]
        Direction of the mirror line; for turns, of the middle of the part that is kept.
    fold : int
        0 for a mirror line, else how many times the design repeats in a full turn.
    error_mm : float [mm]
        How far edges are from the edges of their images: 95 % of them are nearer.
    areas : tuple of int
        Numbers of the areas that take part.
    """

    centre_mm: tuple[float, float]
    angle_rad: float
    fold: int
    error_mm: float
    areas: tuple[int, ...]


def find_symmetries(region_map: RegionMap, areas: Sequence[int] = ()) -> tuple[Symmetry, ...]:
    """Return the symmetries a design, or some of its areas, nearly has, least error first.

    Parameters
    ----------
    region_map : RegionMap
    areas : sequence of int
        Numbers; none takes every area.
    """
    regions = [r for r in region_map.regions if not areas or r.id in set(areas)]
    if all(r.is_bare for r in regions):
        return ()
    picture = _Picture([r for r in regions if not r.is_bare])
    found = [_symmetry(regions, *picture.refined(angle), 0) for angle in picture.mirror_angles()]
    found += [
        _symmetry(regions, picture.centre, math.pi / 2, fold)
        for fold in FOLDS
        if picture.agreement(_turn(picture.centre, 2.0 * math.pi / fold)) >= LEAST_AGREEMENT
    ]
    whole = [s for s in found if s is not None]
    return tuple(sorted(whole, key=lambda s: (s.error_mm, s.fold, s.angle_rad)))


def make_even(region_map: RegionMap, edit: MakeEven, means: EditMeans) -> Edited:
    """Return the design with a symmetry made exact; the part on the kept side is copied.

    The kept side of a mirror line is the one to the left of its direction; of turns it is the
    sector round ``angle_rad``. Areas without a partner stay as they are, on top.
    """
    if edit.fold not in (0, *range(2, 65)):
        raise EditError(
            _("a design cannot repeat {n} times in a turn").format(n=edit.fold),
            remedy=_("give 0 for a mirror line, or 2 to 64"),
        )
    regions = list(find_areas(region_map, edit.areas) or region_map.regions)
    images = _group(edit.centre_mm, edit.angle_rad, edit.fold)
    partners = _partners(regions, images)
    kept = _kept_side(edit.centre_mm, edit.angle_rad, edit.fold)
    shapes = _even_shapes(regions, partners, images, kept)
    if not shapes:
        raise EditError(
            _("no area there has a partner across it"),
            remedy=_("choose a centre and direction that were found"),
        )
    others = [r.polygon for r in region_map.sewn_regions if r.id not in shapes]
    over = shapely.union_all(others)
    by_id = {r.id: r for r in regions}
    coming = [
        LaidShape(number, trimmed, by_id[number].color_index)
        for number, shape in sorted(shapes.items())
        if not (trimmed := areas_of(shapely.difference(shape, over))).is_empty
    ]
    error = _error_mm(regions, partners, images)
    made = lay_shapes(region_map, shapes, coming, next_id=means.first_new(region_map))
    what = _("mirror line") if edit.fold == 0 else _("turn of {n}").format(n=edit.fold)
    sentence = _("{n} areas are exactly even about a {what}; before, edges were {mm:.2f} mm off.")
    sentence = sentence.format(n=len(shapes), what=what, mm=error)
    return Edited(made, sentence, error)


class _Picture:
    """The areas as a small raster of colours, quick to hold against its images."""

    def __init__(self, regions: Sequence[Region]) -> None:
        x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in regions])
        self.pixel = max(x1 - x0, y1 - y0) / PIXELS
        self.left, self.top = float(x0), float(y1)
        n_rows = max(1, math.ceil((y1 - y0) / self.pixel))
        n_cols = max(1, math.ceil((x1 - x0) / self.pixel))
        self.labels = np.zeros((n_rows, n_cols), dtype=np.int64)
        for region in regions:
            mask = paint_polygon(region.polygon, self.left, self.top, self.pixel, self.labels.shape)
            self.labels[mask > 0] = region.color_index + 1
        rows, cols = np.nonzero(self.labels)
        self.points = np.column_stack(
            [self.left + (cols + 0.5) * self.pixel, self.top - (rows + 0.5) * self.pixel]
        )
        self.painted = self.labels[rows, cols]
        x, y = self.points.mean(axis=0)
        self.centre = (float(x), float(y))

    def agreement(self, image: Image) -> float:
        """Return the share of painted pixels whose image has their colour."""
        there = image(self.points)
        cols = np.floor((there[:, 0] - self.left) / self.pixel).astype(np.int64)
        rows = np.floor((self.top - there[:, 1]) / self.pixel).astype(np.int64)
        n_rows, n_cols = self.labels.shape
        inside = (rows >= 0) & (rows < n_rows) & (cols >= 0) & (cols < n_cols)
        found = np.zeros(len(there), dtype=np.int64)
        found[inside] = self.labels[rows[inside], cols[inside]]
        return float((found == self.painted).mean())

    def mirror_angles(self) -> list[float]:
        """Return the directions of mirror lines through the centre that agree, best first."""
        angles = np.arange(_STEPS) * math.pi / _STEPS
        agree = np.array([self.agreement(_mirror(self.centre, a)) for a in angles.tolist()])
        peak = (agree >= np.roll(agree, 1)) & (agree >= np.roll(agree, -1))
        good = np.flatnonzero(peak & (agree >= LEAST_AGREEMENT - 0.05))
        best = good[np.argsort(-agree[good], kind="stable")][:MOST_MIRRORS]
        return [float(a) for a in angles[best]]

    def refined(self, angle: float) -> tuple[tuple[float, float], float]:
        """Return centre and direction of the mirror line near an angle that agrees best."""
        x, y = self.centre
        best = (self.agreement(_mirror(self.centre, angle)), 0.0, angle)
        turn, shift = math.pi / _STEPS / 2.0, 2.0 * self.pixel
        for _round in range(5):
            _score, offset, middle = best
            for a in (middle - turn, middle, middle + turn):
                for d in (offset - shift, offset, offset + shift):
                    centre = (x - d * math.sin(a), y + d * math.cos(a))
                    score = self.agreement(_mirror(centre, a))
                    if score > best[0]:
                        best = (score, d, a)
            turn, shift = turn / 2.0, shift / 2.0
        _score, d, a = best
        return (x - d * math.sin(a), y + d * math.cos(a)), a


def _mirror(centre: tuple[float, float], angle: float) -> Image:
    c, s = math.cos(2.0 * angle), math.sin(2.0 * angle)
    return _about(centre, np.array([[c, s], [s, -c]]))


def _turn(centre: tuple[float, float], angle: float) -> Image:
    c, s = math.cos(angle), math.sin(angle)
    return _about(centre, np.array([[c, -s], [s, c]]))


def _about(centre: tuple[float, float], matrix: NDArray[np.float64]) -> Image:
    middle = np.array(centre)

    def image(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        moved: NDArray[np.float64] = (xy - middle) @ matrix.T + middle
        return moved

    return image


def _group(centre: tuple[float, float], angle: float, fold: int) -> list[Image]:
    """Return the images that the symmetry makes of the kept part, itself left out."""
    if fold == 0:
        return [_mirror(centre, angle)]
    return [_turn(centre, 2.0 * math.pi * k / fold) for k in range(1, fold)]


def _partners(regions: Sequence[Region], images: Sequence[Image]) -> list[list[int | None]]:
    """Return for each area and image the place of the area that the image falls on, or None."""
    tree = shapely.STRtree([r.polygon for r in regions])
    found: list[list[int | None]] = []
    for region in regions:
        row: list[int | None] = []
        for image in images:
            there = shapely.transform(region.polygon, image)
            best, score = None, PARTNER_IOU
            for j in sorted(tree.query(there, predicate="intersects").tolist()):
                other = regions[j]
                if other.color_index != region.color_index:
                    continue
                shared = shapely.intersection(other.polygon, there).area
                iou = shared / (other.polygon.area + there.area - shared)
                if iou > score:
                    best, score = j, iou
            row.append(best)
        found.append(row)
    return found


def _symmetry(
    regions: Sequence[Region], centre: tuple[float, float], angle: float, fold: int
) -> Symmetry | None:
    """Return the symmetry with its error, or None when some area has no partner at all."""
    images = _group(centre, angle, fold)
    partners = _partners(regions, images)
    part = [r for r, row in zip(regions, partners, strict=True) if None not in row]
    painted = sum(r.polygon.area for r in regions if not r.is_bare)
    if sum(r.polygon.area for r in part if not r.is_bare) < LEAST_AGREEMENT * painted:
        return None
    error = _error_mm(regions, partners, images)
    return Symmetry(centre, angle % math.tau, fold, error, tuple(r.id for r in part))


def _error_mm(
    regions: Sequence[Region], partners: list[list[int | None]], images: Sequence[Image]
) -> float:
    """Return the distance from edges to their images' edges that 95 % stay below."""
    apart = []
    for region, row in zip(regions, partners, strict=True):
        edge = shapely.segmentize(region.polygon.boundary, 0.5)
        for image, j in zip(images, row, strict=True):
            if j is not None:
                points = shapely.points(image(shapely.get_coordinates(edge)))
                apart.append(shapely.distance(points, regions[j].polygon.boundary))
    return float(np.quantile(np.concatenate(apart), 0.95)) if apart else 0.0


def _kept_side(centre: tuple[float, float], angle: float, fold: int) -> shapely.Polygon:
    """Return the half plane or sector that is copied, as a polygon that reaches past any design."""
    far = FAR_MM
    along = np.array([math.cos(angle), math.sin(angle)])
    middle = np.array(centre)
    if fold == 0:
        across = np.array([-along[1], along[0]])
        ends = middle + far * np.array([along, -along])
        return shapely.Polygon([*ends, *(ends[::-1] + far * across)])
    half = math.pi / fold
    rim = [
        middle + far * np.array([math.cos(angle + t), math.sin(angle + t)])
        for t in np.linspace(-half, half, 9)
    ]
    return shapely.Polygon([middle, *rim])


def _even_shapes(
    regions: Sequence[Region],
    partners: list[list[int | None]],
    images: Sequence[Image],
    kept: shapely.Polygon,
) -> dict[int, Area]:
    """Return the exact shape of every area that takes part, by number."""
    shapes: dict[int, Area] = {}
    for i, (region, row) in enumerate(zip(regions, partners, strict=True)):
        if region.id in shapes or None in row:
            continue
        orbit = {i, *(j for j in row if j is not None)}
        if orbit == {i}:
            part = shapely.intersection(region.polygon, kept)
            copies = [part, *(shapely.transform(part, image) for image in images)]
            shapes[region.id] = areas_of(shapely.union_all(copies, grid_size=GRID_MM))
        elif len(orbit) == len(images) + 1:
            shapes |= _copied(i, regions, partners, images, kept)
    return shapes


def _copied(
    i: int,
    regions: Sequence[Region],
    partners: list[list[int | None]],
    images: Sequence[Image],
    kept: shapely.Polygon,
) -> dict[int, Area]:
    """Return the shapes of areas that are images of each other: the one most inside is copied."""
    orbit = [i, *(j for j in partners[i] if j is not None)]
    inside = [shapely.intersection(regions[j].polygon, kept).area for j in orbit]
    source = orbit[inside.index(max(inside))]
    shapes: dict[int, Area] = {regions[source].id: regions[source].polygon}
    for image, j in zip(images, partners[source], strict=True):
        if j is not None:
            shapes[regions[j].id] = areas_of(shapely.transform(regions[source].polygon, image))
    return shapes
