"""How many metres each thread and the bobbin give per piece.

Input: a plan and a set-up. Output: metres with a band, from the geometry of the lockstitch
(ISO 4915 types 301 and 304), tails at each cut and waste.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.bands import corner_band, figure
from firstpiece.model.forecast import ThreadUse
from firstpiece.model.stitch import Action, StitchType

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Setup
    from firstpiece.model.measured import Band, Figure
    from firstpiece.model.stitch import StitchPlan

# Low, value, high; guesses unless said. The top thread shows on about a third of a satin's back on
# either side (common practice, no source); in flat stitches little of it is pulled through.
PULLED_SATIN = (0.2, 1 / 3, 0.4)
PULLED_FLAT = (0.0, 0.1, 0.2)
TOP_TAIL_MM = (25.0, 40.0, 70.0)
BOBBIN_TAIL_MM = (15.0, 30.0, 60.0)
# 10 to 15 % waste: common practice, no source.
WASTE = (1.10, 1.12, 1.15)
# Mass per volume of a pressed non-woven backing; a guess.
BACKING_G_CM3 = (0.35, 0.25, 0.15)


@dataclass(frozen=True, slots=True)
class LockstitchThread:
    """Top and bobbin thread of one stitch [mm]."""

    top_mm: float
    bobbin_mm: float


def lockstitch(length_mm: float, thickness_mm: float, pulled: float) -> LockstitchThread:
    """Return the thread in one lockstitch.

    Parameters
    ----------
    length_mm : float [mm]
        Distance between its penetrations; across a zigzag (304) along the slant.
    thickness_mm : float [mm]
        What is sewn through.
    pulled : float
        Share r of the length by which the top thread reaches round to each end of the back.

    Notes
    -----
    Top (1 + 2r)L + t, bobbin (1 − 2r)L + t; together 2(L + t), the usual form 2 + 2TS per unit of
    seam (textile calculation texts). How the sum splits is to be fitted by weighing.
    """
    return LockstitchThread(
        (1.0 + 2.0 * pulled) * length_mm + thickness_mm,
        (1.0 - 2.0 * pulled) * length_mm + thickness_mm,
    )


@dataclass(frozen=True, slots=True)
class _Totals:
    """Sums over one thread of a plan: lengths by kind [mm], penetrations, cut pieces of thread."""

    satin_mm: float
    flat_mm: float
    n_stitches: int
    n_pieces: int


def forecast_thread(plan: StitchPlan, setup: Setup) -> tuple[tuple[ThreadUse, ...], Figure]:
    """Return the top thread of each of the plan's threads and the bobbin thread, in metres.

    Parameters
    ----------
    plan : StitchPlan
    setup : Setup
    """
    thickness = _thickness_ranges(setup)
    totals = [_totals(plan, index) for index in range(len(plan.threads))]
    everything = _Totals(
        sum(t.satin_mm for t in totals),
        sum(t.flat_mm for t in totals),
        sum(t.n_stitches for t in totals),
        sum(t.n_pieces for t in totals),
    )
    basis = "lockstitch geometry, tails and waste; the share pulled to the back is a guess"
    use = tuple(
        ThreadUse(i, figure(_metres(t, thickness, TOP_TAIL_MM, 1.0), "m", basis,
                            setup.fabric.thickness))
        for i, t in enumerate(totals)
    )  # fmt: skip
    bobbin = _metres(everything, thickness, BOBBIN_TAIL_MM, -1.0)
    return use, figure(bobbin, "m", basis, setup.fabric.thickness)


def _thickness_ranges(setup: Setup) -> tuple[float, float, float]:
    cloth = setup.fabric.thickness
    sheet = [setup.backing.weight.value * 1e-3 / density for density in BACKING_G_CM3]
    return (cloth.low + sheet[0], cloth.value + sheet[1], cloth.high + sheet[2])


def _metres(
    totals: _Totals,
    thickness: tuple[float, float, float],
    tail_mm: tuple[float, float, float],
    side: float,
) -> Band:
    """Return metres of top thread (side +1) or bobbin thread (side -1)."""

    def metres(satin_r: float, flat_r: float, thick: float, tail: float, waste: float) -> float:
        lying = (1 + 2 * side * satin_r) * totals.satin_mm + (1 + 2 * side * flat_r) * (
            totals.flat_mm
        )
        through = thick * totals.n_stitches + tail * 2 * totals.n_pieces
        return (lying + through) * waste * 1e-3

    return corner_band(metres, (PULLED_SATIN, PULLED_FLAT, thickness, tail_mm, WASTE))


def _totals(plan: StitchPlan, index: int) -> _Totals:
    rows = np.flatnonzero(plan.is_stitch & (plan.thread == index))
    if not len(rows):
        return _Totals(0.0, 0.0, 0, 0)
    cuts = np.cumsum((plan.action == Action.TRIM) | (plan.action == Action.COLOR_CHANGE))
    # Between two penetrations of one piece the thread lies straight, floats over jumps included.
    is_cut = np.diff(cuts[rows]) > 0
    steps = np.diff(plan.xy_mm[rows], axis=0)
    lengths = np.where(is_cut, 0.0, np.hypot(steps[:, 0], steps[:, 1]))
    satin = _is_satin(plan)[rows[1:]]
    return _Totals(
        float(lengths[satin].sum()),
        float(lengths[~satin].sum()),
        len(rows),
        1 + int(np.count_nonzero(is_cut)),
    )


def _is_satin(plan: StitchPlan) -> NDArray[np.bool_]:
    satin_ids = [t.region_id for t in plan.treatments if t.stitch_type is StitchType.SATIN]
    return np.isin(plan.region_id, satin_ids)
