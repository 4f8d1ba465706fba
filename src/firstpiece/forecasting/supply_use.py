"""What an order takes from the shelf: grams and cones of thread, backing in grams.

Input: a forecast, a set-up and a quantity. Output: plain amounts with their bands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from firstpiece.model.hooping import needle_places, smallest_hoop
from firstpiece.model.measured import Band, Figure

if TYPE_CHECKING:
    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Setup, ThreadColor
    from firstpiece.model.stitch import StitchPlan

# A usual bobbin thread [tex] (guess).
BOBBIN_TEX = 13.0
# The sheet is cut larger than the hoop on each side [mm] (guess).
BACKING_EDGE_MM = 20.0


@dataclass(frozen=True, slots=True)
class ThreadSupply:
    """One thread's use: metres, grams, and the share of a full cone."""

    thread: ThreadColor
    metres: Figure
    grams: Figure
    cones: Figure


@dataclass(frozen=True, slots=True)
class SupplyUse:
    """Thread by colour, bobbin metres and grams, backing grams of an order."""

    threads: tuple[ThreadSupply, ...]
    bobbin_m: Figure
    bobbin_g: Figure
    backing_g: float


def supply_use(
    forecast: Forecast, plan: StitchPlan, setup: Setup, *, quantity: int = 1
) -> SupplyUse:
    """Return what so many pieces take from the shelf.

    Parameters
    ----------
    forecast : Forecast
        Of one piece.
    plan : StitchPlan
        Gives threads and size.
    setup : Setup
    quantity : int

    Notes
    -----
    Grams are metres times tex over 1000 (ISO 1144). Backing is the smallest clearing hoop's box
    with 20 mm on each side, one sheet a piece.
    """
    cone = setup.thread.cone.value
    threads = []
    for use in forecast.thread_use:
        color = plan.threads[use.thread_index]
        metres = scaled(use.top_m, quantity, "m")
        threads.append(
            ThreadSupply(
                color,
                metres,
                scaled(metres, color.tex * 1e-3, "g"),
                scaled(metres, 1.0 / cone, "cones"),
            )
        )
    bobbin = scaled(forecast.bobbin_m, quantity, "m")
    hoop = smallest_hoop(needle_places(plan), setup.hoops)
    width, height = (hoop.width_mm, hoop.height_mm) if hoop else plan.size_mm
    edge = 2 * BACKING_EDGE_MM
    sheet_m2 = (width + edge) * (height + edge) * 1e-6
    return SupplyUse(
        tuple(threads),
        bobbin,
        scaled(bobbin, BOBBIN_TEX * 1e-3, "g"),
        sheet_m2 * setup.backing.weight.value * quantity,
    )


def scaled(figure: Figure, factor: float, unit: str) -> Figure:
    """Return a figure times a positive number, in another unit."""
    band = figure.band
    times = Band(band.p05 * factor, band.p50 * factor, band.p95 * factor)
    return Figure(times, unit, figure.certainty, figure.basis)
