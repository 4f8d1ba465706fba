"""How many minutes the machine runs for one piece.

Input: a plan and a machine card. Output: minutes with a band. Hooping and threading are not here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.bands import corner_band, figure, range_of
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Machine
    from firstpiece.model.measured import Figure
    from firstpiece.model.stitch import StitchPlan


def cycle_lengths_mm(plan: StitchPlan) -> NDArray[np.float64]:
    """Return (k,) float64: how far the frame moves in each cycle, stitches and jumps [mm]."""
    moves = (plan.action == Action.STITCH) | (plan.action == Action.JUMP)
    steps = np.diff(plan.xy_mm, axis=0, prepend=plan.xy_mm[:1])
    lengths: NDArray[np.float64] = np.hypot(steps[:, 0], steps[:, 1])[moves]
    return lengths


def running_seconds(lengths_mm: NDArray[np.float64], top_speed: float, constant: float) -> float:
    """Return the seconds of all cycles at full swing.

    Parameters
    ----------
    lengths_mm : (k,) float64 [mm]
    top_speed : float [1/min]
    constant : float [mm^0.5/min]
        K of the speed law.

    Notes
    -----
    n(L) = min(n_max, K/√L): the frame has a fixed part of a turn to move L under a fixed
    acceleration. Our own derivation; real drives may step by a table.
    """
    # The slower of the two speeds is the longer of the two times.
    seconds = np.maximum(60.0 / top_speed, 60.0 * np.sqrt(lengths_mm) / constant)
    return float(seconds.sum())


def n_starts(plan: StitchPlan) -> int:
    """Return how often the machine runs up from rest: once, and after each trim, change or stop."""
    rest = np.isin(plan.action, (Action.TRIM, Action.COLOR_CHANGE, Action.STOP))
    # A trim and the change that follows it are one rest.
    stitches_before = np.cumsum(plan.is_stitch)[rest]
    rests = np.unique(stitches_before[stitches_before > 0])
    return (1 + int(np.count_nonzero(rests < plan.n_stitches))) if plan.n_stitches else 0


def forecast_minutes(plan: StitchPlan, machine: Machine) -> Figure:
    """Return the minutes one piece is under the needle.

    Parameters
    ----------
    plan : StitchPlan
    machine : Machine

    Notes
    -----
    Σ 60/n(Lᵢ) + trims + colour changes + starts; monotone in every card number, so its corners
    hold the extremes. Timing a few runs on the machine replaces the card's guesses.
    """
    lengths = cycle_lengths_mm(plan)
    trims, changes = plan.count(Action.TRIM), plan.count(Action.COLOR_CHANGE)
    starts = n_starts(plan)

    def minutes(top: float, constant: float, trim: float, change: float, start: float) -> float:
        rest = trims * trim + changes * change + starts * start
        return (running_seconds(lengths, top, constant) + rest) / 60.0

    numbers = (
        machine.top_speed,
        machine.speed_constant,
        machine.trim,
        machine.color_change,
        machine.start,
    )
    band = corner_band(minutes, [range_of(n) for n in numbers])
    basis = "speed law over every stitch, plus trims, colour changes and starts, by machine card"
    return figure(band, "min", basis, *numbers)
