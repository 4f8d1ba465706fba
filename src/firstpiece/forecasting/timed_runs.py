"""The machine card from a stopwatch: three timed runs tell speed law, trim and colour change.

Input: plans that were sewn and the seconds they took. Output: a new machine card whose numbers are
this shop's own, and the time of a run that was held back as the test of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import nnls

from firstpiece.errors import InputError
from firstpiece.forecasting.sewing_time import cycle_lengths_mm, n_starts, running_seconds
from firstpiece.model.measured import Measured
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.material import Machine
    from firstpiece.model.stitch import StitchPlan

# Speed constants tried, and by how much the answer is refined in each round.
SLOWEST_K, FASTEST_K, TRIED, ROUNDS = 400.0, 6000.0, 41, 4
STOPWATCH_S = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class TimedRun:
    """A plan that was sewn and how long it took [s], from the first needle down to the end."""

    plan: StitchPlan
    seconds: float


@dataclass(frozen=True, slots=True, eq=False)
class _Counts:
    """What a run is made of: cycle lengths [mm], trims, colour changes, starts."""

    lengths: NDArray[np.float64]
    trims: int
    changes: int
    starts: int


def fit_machine(machine: Machine, runs: Sequence[TimedRun], *, measured_on: str) -> Machine:
    """Return the card with K, trim and colour change fitted to timed runs.

    Parameters
    ----------
    machine : Machine
        Gives top speed and start, which the runs are not asked for.
    runs : sequence of TimedRun
        At least three: long stitches (10 mm), so that the law's K shows; short stitches with many
        trims; short stitches with many colour changes.
    measured_on : str
        The date, written into the card's source.

    Raises
    ------
    InputError
        When the runs cannot tell the three numbers apart.

    Notes
    -----
    Least squares: for each K the seconds that are left are linear in the two pauses, which cannot
    be negative. Bands come from 1.5 s of stopwatch. A run held back should then be foretold; the
    law itself, n = min(n_max, K/√L), is our own derivation and may not be this machine's.
    """
    counts = [_count(run.plan) for run in runs]
    seconds = np.array([run.seconds for run in runs])
    _check(counts, machine)
    low, high = SLOWEST_K, FASTEST_K
    best = low
    for _round in range(ROUNDS):
        tried = np.linspace(low, high, TRIED)
        misses = [_fit_pauses(counts, seconds, machine, k)[2] for k in tried]
        at = int(np.argmin(misses))
        best = float(tried[at])
        low, high = float(tried[max(0, at - 1)]), float(tried[min(TRIED - 1, at + 1)])
    trim, change, _miss = _fit_pauses(counts, seconds, machine, best)
    source = f"this shop, {len(runs)} timed runs, {measured_on}"

    def card(value: float, spread: float, unit: str) -> Measured:
        return Measured(value, max(0.0, value - spread), value + spread, unit, source)

    slope = _seconds_per_k(counts, machine, best)
    trims, changes = max(c.trims for c in counts), max(c.changes for c in counts)
    return replace(
        machine,
        speed_constant=card(best, STOPWATCH_S / max(slope, 1e-9), machine.speed_constant.unit),
        trim=card(trim, STOPWATCH_S / trims, "s"),
        color_change=card(change, STOPWATCH_S / changes, "s"),
    )


def _count(plan: StitchPlan) -> _Counts:
    return _Counts(
        cycle_lengths_mm(plan),
        plan.count(Action.TRIM),
        plan.count(Action.COLOR_CHANGE),
        n_starts(plan),
    )


def _check(counts: list[_Counts], machine: Machine) -> None:
    pauses = np.array([(c.trims, c.changes, 1) for c in counts])
    # The law shows only in stitches longer than those the machine sews at its top speed.
    knee = (machine.speed_constant.high / machine.top_speed.value) ** 2
    if not any(np.median(c.lengths) > knee for c in counts if len(c.lengths)):
        raise InputError(
            _("no timed run has stitches long enough to slow the machine down"),
            remedy=_("time a run of 10 mm stitches"),
        )
    if len(counts) < 3 or np.linalg.matrix_rank(pauses) < 3:
        raise InputError(
            _("the timed runs cannot tell trims and colour changes apart"),
            remedy=_("time one run with many trims and another with many colour changes"),
        )


def _fit_pauses(
    counts: list[_Counts], seconds: NDArray[np.float64], machine: Machine, k: float
) -> tuple[float, float, float]:
    """Return trim, colour change [s] and the miss [s] at one K."""
    top, start = machine.top_speed.value, machine.start.value
    left = seconds - [running_seconds(c.lengths, top, k) + c.starts * start for c in counts]
    table = np.array([(c.trims, c.changes) for c in counts], dtype=np.float64)
    pauses, miss = nnls(table, left)
    return float(pauses[0]), float(pauses[1]), float(miss)


def _seconds_per_k(counts: list[_Counts], machine: Machine, k: float) -> float:
    """Return by how much the most telling run's time changes per unit of K [s]."""
    top = machine.top_speed.value
    return max(
        abs(running_seconds(c.lengths, top, 0.99 * k) - running_seconds(c.lengths, top, 1.01 * k))
        for c in counts
    ) / (0.02 * k)
