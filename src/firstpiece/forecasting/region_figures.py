"""The figures of each area: cover, show-through with its band, and how it looks from a distance.

Input: measured cover at the card's thread widths. Output: one ``RegionForecast`` per sewn area.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.bands import corner_band, figure, range_of
from firstpiece.forecasting.laid_thread import thread_section
from firstpiece.forecasting.seen_cover import AreaColors, area_colors
from firstpiece.forecasting.show_through import SewnTexture, linear_rgb, show_through
from firstpiece.model.forecast import RegionForecast
from firstpiece.model.measured import Band

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from firstpiece.forecasting.cover import AreaCover
    from firstpiece.forecasting.seen_cover import SeenCover
    from firstpiece.model.material import Setup
    from firstpiece.model.measured import Figure
    from firstpiece.model.memo import Memo
    from firstpiece.model.region import Region, RegionMap
    from firstpiece.model.stitch import StitchPlan

DENSE_PERCENT = 99.0


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredCover:
    """Cover of every area of a map by the thread's flattening (low, value and high of the card)."""

    region_map: RegionMap
    setup: Setup
    by_flattening: Mapping[float, tuple[AreaCover, ...]]

    def texture(self, region: Region, index: int, flattening: float) -> SewnTexture:
        """Return what an area is made of at one flattening of the thread."""
        thread = self.region_map.thread_of(region)
        section = thread_section(self.setup.thread, thread.tex, flattening)
        area = self.by_flattening[flattening][index]
        return SewnTexture(area.shares, area.usual_gap_mm, section.height_mm, section.layer_mass)


def map_colors(measured: MeasuredCover) -> list[AreaColors]:
    """Return the colours by layer count of every area of the map; bare areas are cloth."""
    setup = measured.setup
    cloth = linear_rgb(setup.garment.rgb)
    flattening = setup.thread.flattening.value
    colors = []
    for index, region in enumerate(measured.region_map.regions):
        if region.is_bare:
            n_counts = len(measured.by_flattening[flattening][index].shares)
            plain = np.broadcast_to(cloth, (n_counts, 3))
            colors.append(AreaColors(plain, plain))
            continue
        thread = linear_rgb(measured.region_map.thread_of(region).rgb)
        texture = measured.texture(region, index, flattening)
        colors.append(area_colors(thread, cloth, texture, setup.thread.scatter.value))
    return colors


def region_forecasts(
    plan: StitchPlan,
    measured: MeasuredCover,
    seen: SeenCover,
    holes: NDArray[np.int64],
    memo: Memo,
) -> tuple[RegionForecast, ...]:
    """Return the forecast of every sewn area.

    Parameters
    ----------
    plan : StitchPlan
    measured : MeasuredCover
    seen : SeenCover
    holes : (k,) int64
        Penetrations in the mm² round each STITCH row.
    memo : Memo
    """
    setup = measured.setup

    def shows(index: int, region: Region) -> Figure:
        areas = tuple(covers[index] for covers in measured.by_flattening.values())
        thread = measured.region_map.thread_of(region)
        key = (areas, thread, setup.garment.rgb, setup.thread)
        return memo.recall("show-through", key, lambda: _show_through(region, index, measured))

    hole_region = plan.region_id[plan.is_stitch]
    middle = measured.by_flattening[measured.setup.thread.flattening.value]
    return tuple(
        RegionForecast(
            region_id=region.id,
            cover=middle[index].cover,
            show_through=shows(index, region),
            bare_mm2=middle[index].bare_mm2,
            widest_gap_mm=middle[index].widest_gap_mm,
            penetrations_mm2=_dense_point(holes[hole_region == region.id]),
            views=seen.areas[index],
            cover_range=_cover_range(index, measured),
        )
        for index, region in enumerate(measured.region_map.regions)
        if not region.is_bare
    )


def _cover_range(index: int, measured: MeasuredCover) -> Figure:
    """Return an area's cover at the card's laid width, with the ends of its range."""
    flat = measured.setup.thread.flattening
    low, middle, high = (
        measured.by_flattening[ratio][index].cover for ratio in (flat.low, flat.value, flat.high)
    )
    band = Band(min(low, middle), middle, max(high, middle))
    return figure(band, "", "stitches drawn at the thread card's laid width", flat)


def _dense_point(holes: NDArray[np.int64]) -> float:
    """Return the smallest count that 99 % of an area's penetrations do not exceed."""
    return float(np.percentile(holes, DENSE_PERCENT, method="higher")) if len(holes) else 0.0


def _show_through(region: Region, index: int, measured: MeasuredCover) -> Figure:
    """Return the colour difference at the cards' middle, with the corners of their ranges."""
    setup = measured.setup
    thread = measured.region_map.thread_of(region)

    def difference(ratio: float, scatter: float) -> float:
        texture = measured.texture(region, index, ratio)
        return show_through(thread.rgb, setup.garment.rgb, texture, scatter)

    flat, scatter = setup.thread.flattening, setup.thread.scatter
    band = corner_band(difference, (range_of(flat), range_of(scatter)))
    basis = "thread layers over the cloth's colour; laid width and scatter from the thread card"
    return figure(band, "ΔE00", basis, flat, scatter)
