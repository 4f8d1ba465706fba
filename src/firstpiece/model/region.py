"""The cleaned design: areas of one thread each, a planar partition with shared edges.

Millimetres, x right, y up, origin at the centre of the art's painted box.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.lettering import LetterPlace
    from firstpiece.model.material import RGB, ThreadColor

BARE = -1


@dataclass(frozen=True, slots=True, eq=False)
class CentreLine:
    """The way of a pen: a line along the middle of a stroke, with the stroke's width at each point.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
        At least two points; a closed line repeats its first.
    width_mm : (n,) float64 [mm]
        Above 0; all equal for a line of constant width.
    """

    xy_mm: NDArray[np.float64]
    width_mm: NDArray[np.float64]

    def __post_init__(self) -> None:
        xy = frozen_array(self.xy_mm, np.float64, (None, 2))
        width = frozen_array(self.width_mm, np.float64, (len(xy),))
        if len(xy) < 2 or not (width > 0).all():
            msg = "a centre line needs two points and a width above 0"
            raise ValueError(msg)
        object.__setattr__(self, "xy_mm", xy)
        object.__setattr__(self, "width_mm", width)

    @property
    def is_closed(self) -> bool:
        """True when the line ends where it begins."""
        return bool((self.xy_mm[0] == self.xy_mm[-1]).all())


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """One connected area of the design.

    Parameters
    ----------
    id : int
        Stable within its map, from 0.
    polygon : shapely.Polygon
        Valid, not empty, in mm; may have holes.
    color_index : int
        Index into the map's ``threads``, or ``BARE`` for cloth left showing inside the design.
    letter : LetterPlace or None
        Set when the area is a whole piece of a set letter: areas of one form can be sewn alike.
    lines : tuple of CentreLine
        Set when the area was drawn, or is wanted, as strokes of a pen; ``polygon`` is what they
        cover. Empty for plain areas.
    beneath : shapely.Polygon, shapely.MultiPolygon or None [mm]
        Where the area is sewn on beneath others that are sewn later, besides ``polygon``; None
        where what lies beneath is cut out.
    """

    id: int
    polygon: shapely.Polygon
    color_index: int
    letter: LetterPlace | None = None
    lines: tuple[CentreLine, ...] = ()
    beneath: shapely.Polygon | shapely.MultiPolygon | None = None

    def __post_init__(self) -> None:
        if self.polygon.is_empty or not self.polygon.is_valid:
            msg = f"area {self.id} is empty or crosses itself"
            raise ValueError(msg)

    @property
    def is_bare(self) -> bool:
        """True when the cloth shows here."""
        return self.color_index == BARE


@dataclass(frozen=True, slots=True)
class TraceOptions:
    """How a person steers tracing; the defaults let the picture decide.

    Parameters
    ----------
    n_colors : int or None
        Number of colours; None decides it from the picture.
    keep_background : bool
        True sews the paper too; False leaves paper that reaches the picture's edge bare.
    bare_colors : tuple of RGB
        Colours of the art (nearest match) that become bare cloth everywhere; one that nothing in
        the art is like changes nothing.
    smooth_mm : float [mm]
        Strength of wobble removal: how far an edge may move.
    smallest_mm : float [mm]
        Areas narrower than this everywhere and of less area than its square are specks and are
        given to their neighbours; longer thin areas are lines and stay.
    """

    n_colors: int | None = None
    keep_background: bool = False
    bare_colors: tuple[RGB, ...] = ()
    smooth_mm: float = 0.15
    smallest_mm: float = 0.5

    def __post_init__(self) -> None:
        if self.n_colors is not None and not 1 <= self.n_colors <= 32:
            msg = "the number of colours must be 1 to 32"
            raise ValueError(msg)
        if self.smooth_mm < 0 or self.smallest_mm < 0:
            msg = "lengths cannot be negative"
            raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class ColorMatch:
    """One colour of the art and the thread chosen for it.

    ``delta_e`` is the CIEDE2000 difference between ``art_rgb`` and the thread.
    """

    art_rgb: RGB
    thread: ThreadColor
    delta_e: float


@dataclass(frozen=True, slots=True, eq=False)
class RegionMap:
    """The whole cleaned design.

    Parameters
    ----------
    regions : tuple of Region
        Interiors are disjoint; neighbours share their edges exactly.
    matches : tuple of ColorMatch
        One per colour of the art; ``Region.color_index`` points here. Two may use one thread.
    width_mm, height_mm : float
        Size of the painted box; it is centred on the origin.
    findings : tuple of Finding
        What tracing had to decide or drop.
    """

    regions: tuple[Region, ...]
    matches: tuple[ColorMatch, ...]
    width_mm: float
    height_mm: float
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for region in self.regions:
            if not region.is_bare and not 0 <= region.color_index < len(self.matches):
                msg = f"area {region.id} has colour {region.color_index}, which does not exist"
                raise ValueError(msg)

    @property
    def sewn_regions(self) -> tuple[Region, ...]:
        """The areas that become thread."""
        return tuple(r for r in self.regions if not r.is_bare)

    def thread_of(self, region: Region) -> ThreadColor:
        """Return the thread of a sewn area."""
        return self.matches[region.color_index].thread

    def region(self, region_id: int) -> Region:
        """Return the area with this id; KeyError when there is none."""
        for region in self.regions:
            if region.id == region_id:
                return region
        raise KeyError(region_id)


def region_faults(region_map: RegionMap, *, tolerance_mm2: float = 1e-3) -> tuple[str, ...]:
    """Return the ways a map breaks the normal form: overlaps, duplicate ids, off-centre box.

    Parameters
    ----------
    region_map : RegionMap
    tolerance_mm2 : float [mm²]
        Overlaps below this are rounding.
    """
    faults = []
    ids = [r.id for r in region_map.regions]
    if len(set(ids)) != len(ids):
        faults.append("two areas have the same id")
    polygons = [r.polygon for r in region_map.regions]
    tree = shapely.STRtree(polygons)
    left, right = tree.query(np.array(polygons, dtype=object), predicate="intersects")
    for i, j in zip(left, right, strict=True):
        if i < j:
            overlap = polygons[i].intersection(polygons[j]).area
            if overlap > tolerance_mm2:
                faults.append(f"areas {ids[i]} and {ids[j]} overlap by {overlap:.4f} mm²")
    sewn = [r.polygon for r in region_map.sewn_regions]
    if sewn:
        x0, y0, x1, y1 = shapely.total_bounds(sewn)
        if max(abs(x0 + x1), abs(y0 + y1)) > 0.02:
            faults.append("the painted box is not centred on the origin")
    return tuple(faults)
