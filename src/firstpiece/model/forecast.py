"""What the sew-out will be like, with how sure each figure is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.frozen import frozen_array

if TYPE_CHECKING:
    import shapely
    from numpy.typing import NDArray

    from firstpiece.model.finding import Finding
    from firstpiece.model.measured import Figure


@dataclass(frozen=True, slots=True, eq=False)
class ForecastMap:
    """A raster over the design.

    Parameters
    ----------
    values : (h, w) float32
        Row 0 is the top (largest y).
    left_mm, top_mm : float [mm]
        Outer corner of pixel (0, 0).
    pixel_mm : float [mm]
    unit : str
    """

    values: NDArray[np.float32]
    left_mm: float
    top_mm: float
    pixel_mm: float
    unit: str

    def __post_init__(self) -> None:
        values = frozen_array(self.values, np.float32, (None, None))
        object.__setattr__(self, "values", values)


@dataclass(frozen=True, slots=True)
class SeenFrom:
    """How far cloth changes an area for an eye at ``distance_mm``: CIEDE2000, mean and 95 % point.

    The 95 % point tells of specks that the mean passes over.
    """

    distance_mm: float
    mean: float
    p95: float


@dataclass(frozen=True, slots=True)
class RegionForecast:
    """How one area will look.

    ``cover`` is the share of the area under thread; ``show_through`` the CIEDE2000 difference
    between the area as sewn on this cloth and the same area on cloth of the thread's colour;
    ``bare_mm2`` the cloth left showing [mm²]; ``widest_gap_mm`` the diameter of the largest
    uncovered circle [mm]; ``penetrations_mm2`` the 99 % point of needle holes per mm²; ``views``
    how it looks from reading distance and from a metre; ``cover_range`` is ``cover`` with the band
    of the thread's laid width.
    """

    region_id: int
    cover: float
    show_through: Figure
    bare_mm2: float
    widest_gap_mm: float
    penetrations_mm2: float
    views: tuple[SeenFrom, ...] = ()
    cover_range: Figure | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SettledArea:
    """How one area comes to lie once the thread has drawn the cloth in, compensation included.

    ``outline`` is the sewn edge [mm]; ``drawn_in`` by how much its rows come out shorter than the
    needle went, both ends together [mm]; ``along_mm`` and ``across_mm`` how much larger than drawn
    the area is along its stitches and across them (negative: smaller).
    """

    region_id: int
    outline: shapely.Polygon
    drawn_in: Figure
    along_mm: float
    across_mm: float


@dataclass(frozen=True, slots=True)
class EdgeGap:
    """Cloth that opens along a common edge: the two areas, the worst place [mm], the width [mm]."""

    first_id: int
    second_id: int
    where_mm: tuple[float, float]
    width: Figure


@dataclass(frozen=True, slots=True)
class PuckerRank:
    """How hard an area's thread draws on the cloth: a ranking, with no threshold.

    ``contraction`` [%] along its stitches; ``lowers`` the remedy verbs that lower it, each with the
    share that is left.
    """

    region_id: int
    contraction: Figure
    lowers: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class DrapeRank:
    """How much stiffer an area hangs than the bare cloth: a ranking.

    ``before_mm`` and ``after_mm`` are bending lengths, the overhang that droops by about 41°;
    ``stiffer`` is ``times_stiffer`` with the band of what is guessed.
    """

    region_id: int
    times_stiffer: float
    before_mm: float
    after_mm: float
    stiffer: Figure | None = None


@dataclass(frozen=True, slots=True)
class HoleLine:
    """How near an area's needle holes lie [mm]: a proxy, not a measure of damage.

    ``nearest_mm`` is the 5 % point of distances to the nearest hole; ``edge_pitch_mm`` the distance
    along a satin column's edge; ``cloth_left`` the share of it that is cloth, for holes that stay
    wide, middling or narrow.
    """

    region_id: int
    nearest_mm: float
    edge_pitch_mm: float | None = None
    cloth_left: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Lump:
    """Ties that meet at one place: position [mm], how many, and the height forecast on the back."""

    x_mm: float
    y_mm: float
    n_ties: int
    height: Figure


@dataclass(frozen=True, slots=True)
class ThreadUse:
    """Thread used per piece by one entry of the plan's threads."""

    thread_index: int
    top_m: Figure


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """The whole forecast of one plan on one set-up, per piece.

    ``layers`` maps how many threads lie over each other, ``cover`` the share under thread;
    ``color_shift`` maps how far the cloth changes the thread's colour for a reader; ``settled_mm``
    (n, 2) is where every row of the plan comes to lie, None where the model has nothing to say.
    """

    regions: tuple[RegionForecast, ...]
    lumps: tuple[Lump, ...]
    thread_use: tuple[ThreadUse, ...]
    bobbin_m: Figure
    sewing_minutes: Figure
    n_stitches: int
    n_trims: int
    n_color_changes: int
    layers: ForecastMap
    findings: tuple[Finding, ...]
    color_shift: ForecastMap | None = None
    settled_mm: NDArray[np.float64] | None = None
    settled_areas: tuple[SettledArea, ...] = ()
    gaps: tuple[EdgeGap, ...] = ()
    pucker: tuple[PuckerRank, ...] = ()
    drape: tuple[DrapeRank, ...] = ()
    holes: tuple[HoleLine, ...] = ()
    height_front: ForecastMap | None = None
    height_back: ForecastMap | None = None
    cover: ForecastMap | None = None

    @property
    def blocks_sewing(self) -> bool:
        """True when a finding says the job must not be sewn as it is."""
        return any(f.severity.name == "BLOCK" for f in self.findings)
