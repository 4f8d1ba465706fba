"""The order of sewing, colour by colour, with the minutes each takes.

In: a plan, the machine's card and the forecast's minutes. Out: one block per stretch of one colour.
The forecast's total is shared out by the card's own times, so the blocks add up to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.forecast import Forecast
    from firstpiece.model.material import Machine
    from firstpiece.model.stitch import StitchPlan


@dataclass(frozen=True, slots=True)
class ColorBlock:
    """A stretch of sewing with one thread."""

    thread_index: int
    n_stitches: int
    n_trims: int
    minutes: float


def color_blocks(plan: StitchPlan, forecast: Forecast, machine: Machine) -> tuple[ColorBlock, ...]:
    """Return the plan's colour blocks in sewing order.

    Notes
    -----
    A stitch of L mm takes 1/min(top speed, K/√L) minutes (machine card); a trim and a colour
    change take the card's seconds. The sum is scaled to the forecast's middle figure.
    """
    starts = _block_starts(plan)
    if not len(starts):
        return ()
    costs = _row_minutes(plan, machine)
    raw = np.add.reduceat(costs, starts)
    raw[1:] += machine.color_change.value / 60
    total = float(raw.sum())
    share = forecast.sewing_minutes.band.p50 / total if total > 0 else 0.0
    stitches = np.add.reduceat(plan.is_stitch.astype(np.int64), starts)
    trims = np.add.reduceat((plan.action == Action.TRIM).astype(np.int64), starts)
    return tuple(
        ColorBlock(int(plan.thread[s]), int(n), int(t), float(m * share))
        for s, n, t, m in zip(starts, stitches, trims, raw, strict=True)
        if n
    )


def _block_starts(plan: StitchPlan) -> NDArray[np.int64]:
    """Return the rows at which a stretch of one thread begins."""
    if not plan.n_stitches:
        return np.zeros(0, dtype=np.int64)
    change = np.flatnonzero(np.diff(plan.thread)) + 1
    return np.concatenate([[0], change]).astype(np.int64)


def _row_minutes(plan: StitchPlan, machine: Machine) -> NDArray[np.float64]:
    """Return the minutes of every row but for colour changes."""
    step = np.zeros(len(plan.xy_mm))
    step[1:] = np.hypot(*np.diff(plan.xy_mm, axis=0).T)
    fastest = machine.top_speed.value
    rate = np.minimum(fastest, machine.speed_constant.value / np.sqrt(np.maximum(step, 0.01)))
    minutes = np.where(plan.is_stitch, 1.0 / rate, 0.0)
    minutes += np.where(plan.action == Action.TRIM, machine.trim.value / 60, 0.0)
    result: NDArray[np.float64] = minutes
    return result
