"""Marks that carry a design from one hooping to the next, sewn loosely and pulled out afterwards.

Input: a hooping's plan, the marks it sews for others and those it is laid on. Output: the plan that
first shows the needle over each mark with a stop, then sews, then sews the crosses for the next.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import split_long_steps
from firstpiece.model.stitch import Action, Role
from firstpiece.planning.stitch_list import DIGITS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Machine
    from firstpiece.model.stitch import StitchPlan

    Floats = NDArray[np.float64]

# Arms of a cross; stitches so long and without a tie are pulled out by hand.
ARM_MM = 3.0
_CROSS = np.array([[-1.0, 0.0], [0.0, 0.0], [1.0, 0.0], [0.0, 0.0], [0.0, 1.0], [0.0, -1.0]])


def with_marks(plan: StitchPlan, *, laid_on: Floats, sewn: Floats, machine: Machine) -> StitchPlan:
    """Return a plan that begins over marks and ends with crosses.

    Parameters
    ----------
    plan : StitchPlan
    laid_on : (k, 2) float64 [mm]
        Marks of an earlier hooping: the needle stops over each, for the hoop to be set right.
    sewn : (m, 2) float64 [mm]
        Marks for later hoopings.
    machine : Machine

    Returns
    -------
    StitchPlan
        Marks belong to no area.
    """
    xy, action = _stops_over(laid_on, plan, machine)
    first = np.full(len(xy), plan.thread[0] if len(plan.thread) else 0)
    last = plan.thread[-1] if len(plan.thread) else 0
    crosses, what = _crosses(sewn, plan.xy_mm[-1], machine)
    n = len(plan.xy_mm) - 1
    thread = np.concatenate([first, plan.thread[:n], np.full(len(crosses), last), [last]])
    middle = np.concatenate([xy, plan.xy_mm[:n], crosses])
    end = middle[-1:] if len(middle) else plan.xy_mm[-1:]
    return replace(
        plan,
        xy_mm=np.round(np.concatenate([middle, end]), DIGITS),
        action=np.concatenate([action, plan.action[:n], what, [Action.END]]).astype(np.uint8),
        thread=thread.astype(np.int16),
        region_id=_padded(plan.region_id[:n], len(xy), len(crosses) + 1, -1).astype(np.int32),
        role=_padded(plan.role[:n], len(xy), len(crosses) + 1, Role.TRAVEL).astype(np.uint8),
    )


def _padded(values: NDArray[np.generic], before: int, after: int, fill: int) -> NDArray[np.int64]:
    return np.concatenate([np.full(before, fill), values.astype(np.int64), np.full(after, fill)])


def _stops_over(
    marks: Floats, plan: StitchPlan, machine: Machine
) -> tuple[Floats, NDArray[np.int64]]:
    """Return the moves to each mark with a stop there, and on to the first stitch."""
    if not len(marks):
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    xy: list[Floats] = [marks[:1], marks[:1]]
    action = [Action.JUMP, Action.STOP]
    for a, b in pairwise(marks):
        jumps = _jumps(a, b, machine)
        xy += [jumps, b[None]]
        action += [Action.JUMP] * len(jumps) + [Action.STOP]
    jumps = _jumps(marks[-1], plan.xy_mm[0], machine)
    xy.append(jumps)
    action += [Action.JUMP] * len(jumps)
    return np.vstack(xy), np.array([int(a) for a in action], dtype=np.int64)


def _crosses(marks: Floats, here: Floats, machine: Machine) -> tuple[Floats, NDArray[np.int64]]:
    """Return a cut, and for each mark the moves to it and its cross."""
    if not len(marks):
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    xy: list[Floats] = []
    action: list[int] = []
    for mark in marks:
        cross = mark + ARM_MM * _CROSS
        jumps = _jumps(here, cross[0], machine)
        xy += [here[None], jumps, cross]
        action += [int(Action.TRIM)] + [int(Action.JUMP)] * len(jumps)
        action += [int(Action.STITCH)] * len(cross)
        here = cross[-1]
    return np.vstack(xy), np.array(action, dtype=np.int64)


def _jumps(start: Floats, end: Floats, machine: Machine) -> Floats:
    longest = machine.longest_jump_mm - 2 * 10**-DIGITS
    return np.asarray(split_long_steps(np.vstack([start, end]), longest)[1:])
