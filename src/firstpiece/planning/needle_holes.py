"""Fewer needle holes where they crowd: places that can be left out without changing the look.

Input: all runs of a plan. Output: the same runs without travel, underlay and mid-row penetrations
in squares of a millimetre that hold too many; thread goes straight on over what is left out.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.planning.stitch_list import Run

    Floats = NDArray[np.float64]

# Common practice, no source: cloth is cut rather than sewn above some 14 to 16 holes per mm².
CROWDED = 12
HALF_SQUARE_MM = 0.5
LONGEST_STEP_MM = 6.0
# How far the thread may move sideways when a hole is left out, by role.
MAY_SHIFT_MM = {Role.TRAVEL: 0.3, Role.UNDERLAY: 0.4, Role.COVER: 0.03}


def thin_holes(runs: Sequence[Run]) -> list[Run]:
    """Return runs with fewer penetrations where more than ``CROWDED`` lie in a square millimetre.

    Parameters
    ----------
    runs : sequence of Run
    """
    legs = [leg for run in runs for leg in run.legs]
    if not legs:
        return list(runs)
    xy = np.vstack([leg.xy_mm for leg in legs])
    role = np.concatenate([leg.role for leg in legs])
    leg_of = np.repeat(np.arange(len(legs)), [len(leg) for leg in legs])
    keep = _keep(xy, role, leg_of)
    starts = np.concatenate([[0], np.cumsum([len(leg) for leg in legs])])
    thinned = []
    k = 0
    for run in runs:
        masks = [keep[starts[k + i] : starts[k + i + 1]] for i in range(len(run.legs))]
        k += len(run.legs)
        thinned.append(
            replace(
                run,
                legs=tuple(
                    Path(leg.xy_mm[m], leg.role[m])
                    for leg, m in zip(run.legs, masks, strict=True)
                ),
                region_ids=tuple(
                    ids[m] for ids, m in zip(run.region_ids, masks, strict=True)
                ),
            )
        )  # fmt: skip
    return thinned


def _keep(xy: Floats, role: NDArray[np.uint8], leg_of: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return which penetrations stay; the least needed roles go first."""
    keep = np.ones(len(xy), dtype=bool)
    tree = cKDTree(xy)
    n_near = tree.query_ball_point(xy, HALF_SQUARE_MM, p=np.inf, return_length=True)
    crowded = np.flatnonzero((np.asarray(n_near) > CROWDED) & (role != Role.TIE))
    first_out = np.array([2, 1, 3, 0])[role[crowded]]
    for i in crowded[np.lexsort((crowded, first_out))]:
        a, b = _neighbours(keep, leg_of, int(i))
        if a < 0 or b < 0 or role[a] == Role.TIE or role[b] == Role.TIE:
            continue
        if _shift(xy[a], xy[i], xy[b]) > MAY_SHIFT_MM[Role(int(role[i]))]:
            continue
        near = tree.query_ball_point(xy[i], HALF_SQUARE_MM, p=np.inf)
        if np.count_nonzero(keep[near]) > CROWDED:
            keep[i] = False
    return keep


def _neighbours(keep: NDArray[np.bool_], leg_of: NDArray[np.int64], i: int) -> tuple[int, int]:
    """Return the penetrations before and after one that are still there, -1 beyond the leg."""
    a, b = i - 1, i + 1
    while a >= 0 and not keep[a]:
        a -= 1
    while b < len(keep) and not keep[b]:
        b += 1
    before = a if a >= 0 and leg_of[a] == leg_of[i] else -1
    after = b if b < len(keep) and leg_of[b] == leg_of[i] else -1
    return before, after


def _shift(a: Floats, p: Floats, b: Floats) -> float:
    """Return how far the thread moves when it goes from a to b without p; ``inf`` if too long."""
    chord = b - a
    length = float(np.hypot(*chord))
    if length > LONGEST_STEP_MM:
        return float("inf")
    if length < 1e-9:
        return float(np.hypot(*(p - a)))
    along = float(np.clip((p - a) @ chord / length**2, 0.0, 1.0))
    return float(np.hypot(*(p - a - along * chord)))
