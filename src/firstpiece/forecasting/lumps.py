"""Where ties pile up to a bump that can be felt.

Input: a plan and a set-up. Output: clusters of two or more ties with the height they would reach.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.spatial import cKDTree

from firstpiece.forecasting.bands import corner_band, figure
from firstpiece.forecasting.laid_thread import thread_section
from firstpiece.model.forecast import Lump
from firstpiece.model.stitch import Action, Role

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Setup
    from firstpiece.model.stitch import StitchPlan

CLUSTER_MM = 0.8
DISC_RADIUS_MM = 0.4
# Guesses, from low to high: share of a knot's room filled by thread; length of each loop round
# the bobbin thread; linear density of the bobbin thread. The radius over which a knot spreads.
FILLED = (0.9, 0.75, 0.75)
LOOP_MM = (0.1, 0.3, 0.5)
BOBBIN_TEX = (10.0, 13.0, 20.0)
SPREAD_MM = (0.5, DISC_RADIUS_MM, DISC_RADIUS_MM)
# Of a thread end whose tie is not marked in the plan: four stitches of half a millimetre.
UNMARKED_STITCHES, UNMARKED_LENGTH_MM = 4, 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Ties:
    """The ties of a plan: (k, 2) float64 centres [mm], (k,) lengths [mm], stitches and row ids."""

    at_mm: NDArray[np.float64]
    length_mm: NDArray[np.float64]
    n_stitches: NDArray[np.int64]
    first_row: NDArray[np.int64]


def find_ties(plan: StitchPlan) -> Ties:
    """Return each run of tie stitches; without marked ties, every end of a thread counts as one."""
    rows = np.flatnonzero((plan.role == Role.TIE) & plan.is_stitch)
    if len(rows):
        return _marked_ties(plan, rows)
    ends = thread_end_rows(plan)
    return Ties(
        plan.xy_mm[ends],
        np.full(len(ends), UNMARKED_LENGTH_MM),
        np.full(len(ends), UNMARKED_STITCHES),
        ends,
    )


def _marked_ties(plan: StitchPlan, rows: NDArray[np.int64]) -> Ties:
    starts = np.flatnonzero(np.diff(rows, prepend=rows[0] - 2) > 1)
    stops = np.append(starts[1:], len(rows))
    centres, lengths = [], []
    for start, stop in zip(starts, stops, strict=True):
        points = plan.xy_mm[rows[start:stop]]
        steps = np.diff(points, axis=0)
        centres.append(points.mean(axis=0))
        lengths.append(float(np.hypot(steps[:, 0], steps[:, 1]).sum()))
    return Ties(np.array(centres), np.array(lengths), stops - starts, rows[starts])


def thread_end_rows(plan: StitchPlan) -> NDArray[np.int64]:
    """Return the STITCH rows at which a thread begins or is cut off, (k,) int64 in order."""
    stitches = np.flatnonzero(plan.is_stitch)
    if not len(stitches):
        return stitches
    cuts = np.cumsum((plan.action == Action.TRIM) | (plan.action == Action.COLOR_CHANGE))
    is_cut = np.diff(cuts[stitches]) > 0
    begins = np.concatenate([[True], is_cut])
    ends = np.concatenate([is_cut, [True]])
    return np.sort(np.concatenate([stitches[begins], stitches[ends]]))


def find_lumps(plan: StitchPlan, setup: Setup) -> tuple[Lump, ...]:
    """Return the clusters of ties within 0.8 mm, highest first.

    Notes
    -----
    The tie with most others within 0.8 mm takes them, then the next of those left, so a row of
    well spread ties is not chained into one. Height: the thread of the ties spread over a small
    disc, h = Σ(A·length)/(filled·π·r²), linear and without compaction: an upper bound. No data on
    what can be felt were found; two ties come to about 0.65 mm with 26.7 tex.
    """
    ties = find_ties(plan)
    return tuple(
        sorted(
            (_lump(plan, setup, ties, members) for members in _clusters(ties.at_mm)),
            key=lambda lump: (-lump.height.band.p50, lump.x_mm, lump.y_mm),
        )
    )


def _clusters(at_mm: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    if len(at_mm) < 2:
        return []
    tree = cKDTree(at_mm)
    neighbours: Any = tree.query_ball_point(at_mm, CLUSTER_MM, return_sorted=True)
    order = np.argsort([-len(near) for near in neighbours], kind="stable")
    free = np.ones(len(at_mm), dtype=bool)
    clusters = []
    for i in order:
        members = np.array([j for j in neighbours[i] if free[j]], dtype=np.int64)
        if free[i] and len(members) >= 2:
            free[members] = False
            clusters.append(members)
    return clusters


def _lump(plan: StitchPlan, setup: Setup, ties: Ties, members: NDArray[np.int64]) -> Lump:
    card = setup.thread
    tex = plan.threads[int(plan.thread[ties.first_row[members[0]]])].tex
    top_mm2 = thread_section(card, tex, 1.0).area_mm2
    length, stitches = ties.length_mm[members].sum(), ties.n_stitches[members].sum()

    def height(filled: float, loop_mm: float, bobbin_tex: float, radius_mm: float) -> float:
        bobbin_mm2 = top_mm2 * bobbin_tex / tex
        volume = length * (top_mm2 + bobbin_mm2) + stitches * loop_mm * top_mm2
        return float(volume / (filled * math.pi * radius_mm**2))

    basis = "thread of the ties over a 0.4 mm disc, no compaction; room filled and loops guessed"
    band = corner_band(height, (FILLED, LOOP_MM, BOBBIN_TEX, SPREAD_MM))
    centre = ties.at_mm[members].mean(axis=0)
    return Lump(
        float(centre[0]),
        float(centre[1]),
        len(members),
        figure(band, "mm", basis, card.tex, card.packing),
    )
