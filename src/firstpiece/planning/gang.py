"""Several pieces in one hoop: patches ganged side by side, each with its border and its cut line.

Input: a design, a hoop, a border. Output: one design that holds all pieces; planned at once, its
thread changes are those of a single piece.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.errors import InputError
from firstpiece.model.region import ColorMatch, Region, RegionMap
from firstpiece.model.stitch import StitchSpec, StitchType
from firstpiece.planning.hoop_split import field_of, moved_region

if TYPE_CHECKING:
    from firstpiece.model.material import Hoop, ThreadColor

# The outline of a patch bridges gaps in the art up to this wide and keeps clear of it by this much.
BRIDGE_MM = 6.0
CLEAR_MM = 1.0
# The cut line is run this far outside the border: scissors go along it, the border stays whole.
CUT_OUTSIDE_MM = 0.6
LINE_MM = 0.5
NARROWEST_BORDER_MM, WIDEST_BORDER_MM = 2.0, 6.0
APART_MM = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Gang:
    """Pieces side by side.

    Parameters
    ----------
    region_map : RegionMap
        All pieces about the hoop's centre.
    specs : dict of int to StitchSpec
        Borders are satin, cut lines are run, by area.
    centres_mm : (n, 2) float64 [mm]
        Where each piece's centre lies.
    piece_mm : tuple of float [mm]
        Width and height of one piece, border and cut line included.
    n_fits : int
        How many pieces the hoop holds.
    """

    region_map: RegionMap
    specs: dict[int, StitchSpec]
    centres_mm: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    piece_mm: tuple[float, float]
    n_fits: int


def gang_pieces(
    region_map: RegionMap,
    hoop: Hoop,
    *,
    border: ThreadColor,
    border_mm: float = 3.0,
    n_pieces: int | None = None,
) -> Gang:
    """Return a design of as many pieces as fit a hoop, or as are asked for.

    Parameters
    ----------
    region_map : RegionMap
    hoop : Hoop
    border : ThreadColor
        Of the border and the cut line.
    border_mm : float [mm]
        Width of the satin border, 2 to 6.
    n_pieces : int or None

    Raises
    ------
    InputError
        When the border is out of range, or the hoop does not hold so many.
    """
    if not NARROWEST_BORDER_MM <= border_mm <= WIDEST_BORDER_MM:
        raise InputError(
            _("a border {width:g} mm wide cannot be sewn in satin").format(width=border_mm),
            remedy=_("choose 2 to 6 mm"),
        )
    piece = _patch(region_map, border, border_mm)
    x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in piece.regions])
    size = np.array([x1 - x0, y1 - y0])
    counts = np.floor((field_of(hoop) + APART_MM) / (size + APART_MM)).astype(int)
    n_fits = int(counts.prod()) if (counts > 0).all() else 0
    wanted = n_fits if n_pieces is None else n_pieces
    if not 1 <= wanted <= n_fits:
        raise InputError(
            _("{hoop} holds {fits} pieces of {w:.0f} × {h:.0f} mm, not {n}").format(
                hoop=hoop.label, fits=n_fits, w=size[0], h=size[1], n=n_pieces or 1
            ),
            remedy=_("choose a larger hoop, a smaller piece or fewer of them"),
        )
    centres = _centres(wanted, int(counts[0]), size + APART_MM)
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    return _laid_out(piece, centres, middle, (float(size[0]), float(size[1])), n_fits)


def patch_outline(region_map: RegionMap) -> shapely.Polygon:
    """Return the outline [mm] that holds all of a design with a little cloth round it."""
    art = shapely.union_all([r.polygon for r in region_map.sewn_regions])
    closed = art.buffer(BRIDGE_MM).buffer(CLEAR_MM - BRIDGE_MM)
    parts = shapely.get_parts(closed)
    whole = parts[0] if len(parts) == 1 else closed.convex_hull
    assert isinstance(whole, shapely.Polygon)
    return shapely.Polygon(np.asarray(whole.exterior.simplify(0.02).coords))


def _patch(region_map: RegionMap, border: ThreadColor, border_mm: float) -> RegionMap:
    """Return one piece: the art, its border and its cut line, the last two with known numbers."""
    inner = patch_outline(region_map)
    outer = inner.buffer(border_mm, quad_segs=16)
    line = outer.buffer(CUT_OUTSIDE_MM + LINE_MM, quad_segs=16)
    color = len(region_map.matches)
    first = max(r.id for r in region_map.regions) + 1
    ring = shapely.Polygon(outer.exterior.coords, [inner.exterior.coords])
    gap = outer.buffer(CUT_OUTSIDE_MM, quad_segs=16)
    cut = shapely.Polygon(line.exterior.coords, [gap.exterior.coords])
    return RegionMap(
        (*region_map.sewn_regions, Region(first, ring, color), Region(first + 1, cut, color)),
        (*region_map.matches, ColorMatch(border.rgb, border, 0.0)),
        region_map.width_mm,
        region_map.height_mm,
        region_map.findings,
    )


def _centres(
    n: int, n_columns: int, step: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the pieces' centres row by row from the upper left, all about the origin."""
    n_columns = min(n, n_columns)
    column, row = np.arange(n) % n_columns, np.arange(n) // n_columns
    xy = np.column_stack([column * step[0], -row * step[1]])
    return np.asarray(xy - (xy.min(axis=0) + xy.max(axis=0)) / 2)


def _laid_out(
    piece: RegionMap,
    centres: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    middle: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    size: tuple[float, float],
    n_fits: int,
) -> Gang:
    regions: list[Region] = []
    specs: dict[int, StitchSpec] = {}
    for centre in centres:
        shift = centre - middle
        for region in piece.regions:
            number = len(regions)
            regions.append(moved_region(region, number, (float(shift[0]), float(shift[1]))))
        specs[len(regions) - 2] = StitchSpec(stitch_type=StitchType.SATIN)
        specs[len(regions) - 1] = StitchSpec(stitch_type=StitchType.RUNNING)
    x0, y0, x1, y1 = shapely.total_bounds([r.polygon for r in regions])
    made = RegionMap(tuple(regions), piece.matches, float(x1 - x0), float(y1 - y0), piece.findings)
    return Gang(made, specs, centres, size, n_fits)
