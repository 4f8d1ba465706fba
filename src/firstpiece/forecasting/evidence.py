"""Everything the findings are drawn from, gathered once.

Input: the parts of a forecast as they are computed. Output: one frozen value with a few look-ups,
so that each finding is a short function of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.memo import Memo

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.forecasting.cover import DesignCover
    from firstpiece.forecasting.laid_thread import LaidThread, ThreadSection
    from firstpiece.forecasting.seen_cover import SeenCover
    from firstpiece.forecasting.settle import Settled
    from firstpiece.kernels.coverage import Grid
    from firstpiece.model.forecast import (
        DrapeRank,
        EdgeGap,
        HoleLine,
        Lump,
        RegionForecast,
        SettledArea,
    )
    from firstpiece.model.material import Setup, ThreadColor
    from firstpiece.model.region import Region, RegionMap
    from firstpiece.model.stitch import StitchPlan, Treatment


@dataclass(frozen=True, eq=False)
class Evidence:
    """What is known about one sew-out.

    Parameters
    ----------
    plan, region_map, setup
        The stage's inputs.
    grid : Grid
        The raster of ``labels`` and ``cover.layers``.
    labels : (h, w) int32
        Index into ``region_map.regions`` of each pixel, -1 outside.
    cover : DesignCover
        At the card's laid width; one entry per region of the map, bare ones too.
    laid : LaidThread
    sections : tuple of ThreadSection
        One per thread of the plan, at the card's flattening.
    holes : (k,) int64
        Penetrations in the mm² round each STITCH row.
    regions : tuple of RegionForecast
        One per sewn region.
    lumps : tuple of Lump
    seen : SeenCover
        One entry per region of the map.
    settled : Settled
        Where the stitches come to lie.
    settled_areas : tuple of SettledArea
    gaps : tuple of EdgeGap
        Both empty where the model has nothing to say.
    drape : tuple of DrapeRank
    lines : tuple of HoleLine
    memo : Memo
        Work of earlier forecasts.
    areas_key : str
        Hash of the areas' shapes.
    is_set_out : bool
        Whether outlines were set out so that the piece settles as drawn.
    """

    plan: StitchPlan
    region_map: RegionMap
    setup: Setup
    grid: Grid
    labels: NDArray[np.int32]
    cover: DesignCover
    laid: LaidThread
    sections: tuple[ThreadSection, ...]
    holes: NDArray[np.int64]
    regions: tuple[RegionForecast, ...]
    lumps: tuple[Lump, ...]
    seen: SeenCover
    settled: Settled
    settled_areas: tuple[SettledArea, ...] = ()
    gaps: tuple[EdgeGap, ...] = ()
    drape: tuple[DrapeRank, ...] = ()
    lines: tuple[HoleLine, ...] = ()
    memo: Memo = field(default_factory=Memo)
    areas_key: str = ""
    is_set_out: bool = False

    @cached_property
    def index_of(self) -> dict[int, int]:
        """Place of each region in the map, by id."""
        return {region.id: i for i, region in enumerate(self.region_map.regions)}

    @cached_property
    def treatments(self) -> dict[int, Treatment]:
        """The plan's treatment of each region, by id."""
        return {treatment.region_id: treatment for treatment in self.plan.treatments}

    @cached_property
    def is_sewn(self) -> NDArray[np.bool_]:
        """(k + 1,) bool: whether each region is thread; the last entry stands for outside."""
        flags = [not region.is_bare for region in self.region_map.regions]
        return np.array([*flags, False], dtype=bool)

    @property
    def laid_width_mm(self) -> float:
        """Width of the set-up's laid thread."""
        return self.setup.thread.laid_width_mm

    def region_at(self, index: int) -> Region:
        """Return the region at this place of the map."""
        return self.region_map.regions[index]

    def thread_of(self, region_id: int) -> ThreadColor:
        """Return the thread of a sewn region."""
        return self.region_map.thread_of(self.region_at(self.index_of[region_id]))

    def centre_of(self, region_id: int) -> tuple[float, float]:
        """Return a point inside the region [mm]."""
        point = self.region_at(self.index_of[region_id]).polygon.representative_point()
        return (round(float(point.x), 2), round(float(point.y), 2))
