"""Fewer needle holes where they crowd, without changing what is seen.

Input: all runs of a plan. Output: the same runs with penetrations left out, or drawn in along their
stitch, in squares of a millimetre that hold too many. Each change is judged by the cloth it would
lay open; what other thread of the same area or later covers anyway costs nothing.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.kernels.hole_relief import (
    DRAW_IN,
    DRAWN_SHARES,
    IMPOSSIBLE,
    LEAVE_OUT,
    N_WAYS,
    ChangeLimits,
    HoleChain,
    change_cost,
    change_costs,
    change_hole,
    drawn_in,
)
from firstpiece.kernels.thread_index import ThreadIndex, make_index
from firstpiece.model.stitch import Role
from firstpiece.planning.path import Path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.planning.stitch_list import Run

    Floats = NDArray[np.float64]

# Common practice, no source: cloth is cut rather than sewn above some 14 to 16 holes per mm².
MOST_HOLES = 13
CELL_MM = 0.1
CELLS = 10
SHORTEST_STEP_MM = 0.4
LONGEST_STEP_MM = 6.5
CLOSEST_HOLES_MM = 0.18
# Holes in a square millimetre, and the cloth that one change may lay open for fewer. Beyond what
# is sound, slivers half as wide as the thread are given, then larger ones; where it costs nothing
# seen, fewer holes still.
PASSES = ((MOST_HOLES, 0.05), (MOST_HOLES, 0.15), (9, 0.004))
# What a change is held back by when another costs nearly the same, by role of the penetration:
# a hole under cover is left out before one in it.
RELUCTANCE_MM2 = {Role.TRAVEL: 0.0, Role.UNDERLAY: 0.002, Role.COVER: 0.006, Role.TIE: 1.0}
LONE_COVER_MM2 = 0.004
DRAWN_MM2 = 0.004


def thin_holes(runs: Sequence[Run], *, thread_mm: float) -> list[Run]:
    """Return runs with no more than ``MOST_HOLES`` in a square millimetre, as far as cover allows.

    Parameters
    ----------
    runs : sequence of Run
    thread_mm : float [mm]
        Laid width.
    """
    if not any(len(leg) for run in runs for leg in run.legs):
        return list(runs)
    cloth = _Cloth.of(runs, thread_mm)
    for most, open_mm2 in PASSES:
        for place in cloth.crowded(most):
            cloth.relieve(place, most, open_mm2)
    return cloth.rebuilt(runs)


@dataclass(frozen=True, slots=True)
class _Limits:
    """One crowded window and what may be done for it."""

    rows: slice
    cols: slice
    most: int
    change: ChangeLimits

    def hold(self, row: int, col: int) -> bool:
        """Return whether a cell lies in the window."""
        in_row = self.rows.start <= row < self.rows.stop
        return bool(in_row and self.cols.start <= col < self.cols.stop)


@dataclass(slots=True)
class _Cloth:
    """All penetrations, the thread between them and a count of holes in small cells."""

    chain: HoleChain
    index: ThreadIndex
    role: NDArray[np.uint8]
    low: Floats
    counts: NDArray[np.float32]
    kept: NDArray[np.bool_]
    members: dict[tuple[int, int], set[int]] = field(default_factory=dict)

    @classmethod
    def of(cls, runs: Sequence[Run], thread_mm: float) -> _Cloth:
        legs = [leg for run in runs for leg in run.legs if len(leg)]
        ids = np.concatenate([i for run in runs for i in run.region_ids if len(i)])
        xy = np.vstack([leg.xy_mm for leg in legs])
        role = np.concatenate([leg.role for leg in legs])
        ends = np.cumsum([len(leg) for leg in legs])
        n = len(xy)
        before, after = np.arange(-1, n - 1), np.arange(1, n + 1)
        before[np.concatenate([[0], ends[:-1]])] = -1
        after[ends - 1] = -1
        sewn = np.flatnonzero(before >= 0)
        fresh = np.concatenate([[True], ids[1:] != ids[:-1]])
        since = np.maximum.accumulate(np.where(fresh, np.arange(n), 0))
        piece = np.full(n, -1, dtype=np.int64)
        piece[sewn] = np.arange(len(sewn))
        low = xy.min(axis=0)
        counts = _count_cells(xy, low)
        n_crowded = int((_window_sums(counts)[_cells(xy, low)] > PASSES[-1][0]).sum())
        index = make_index(
            np.hstack([xy[sewn - 1], xy[sewn]]), sewn, thread_mm / 2, 4 * n_crowded + 16
        )
        chain = HoleChain(xy.copy(), before, after, piece, since, role == Role.TIE)
        return cls(chain, index, role, low, counts, np.ones(n, dtype=bool))

    def crowded(self, most: int) -> list[tuple[int, int]]:
        """Return the cells of windows with more holes than ``most``, the fullest first."""
        sums = _window_sums(self.counts)
        rows, cols = np.nonzero(sums > most)
        order = np.lexsort((cols, rows, -sums[rows, cols]))
        free = np.ones_like(sums, dtype=bool)
        found = []
        for row, col in zip(rows[order].tolist(), cols[order].tolist(), strict=True):
            if free[row, col]:
                found.append((row, col))
                free[max(0, row - 2) : row + 3, max(0, col - 2) : col + 3] = False
        if found:
            cells = _cells(self.chain.xy_mm, self.low)
            near = cv2.dilate((sums > most).astype(np.uint8), np.ones((21, 21), np.uint8))
            for i in np.flatnonzero(near[cells]).tolist():
                key = (int(cells[0][i]) // CELLS, int(cells[1][i]) // CELLS)
                self.members.setdefault(key, set()).add(i)
        return found

    def relieve(self, place: tuple[int, int], most: int, open_mm2: float) -> None:
        """Make the cheapest changes in a window until it is no longer crowded.

        Cover only shrinks, so a cost once found can only rise: the cheapest is weighed again when
        its turn comes and takes its new place in the queue.
        """
        rows = slice(place[0] - CELLS // 2, place[0] + CELLS - CELLS // 2)
        cols = slice(place[1] - CELLS // 2, place[1] + CELLS - CELLS // 2)
        if self.counts[rows, cols].sum() <= most:
            return
        limits = _Limits(
            rows, cols, most, ChangeLimits(SHORTEST_STEP_MM, LONGEST_STEP_MM, open_mm2)
        )
        queue = [entry for i in self._inside(rows, cols) for entry in self._ways(i, limits)]
        heapq.heapify(queue)
        while queue and self.counts[rows, cols].sum() > most:
            old, i, way = heapq.heappop(queue)
            if not self._is_inside(i, rows, cols):
                continue
            cost = self._cost(i, way, limits)
            if cost > old and queue and (cost, i, way) > queue[0]:
                if cost < IMPOSSIBLE:
                    heapq.heappush(queue, (cost, i, way))
            elif cost < IMPOSSIBLE and not self._change(i, way):
                return

    def _inside(self, rows: slice, cols: slice) -> list[int]:
        found = []
        for r in range(rows.start // CELLS, (rows.stop - 1) // CELLS + 1):
            for c in range(cols.start // CELLS, (cols.stop - 1) // CELLS + 1):
                found += [i for i in self.members.get((r, c), ()) if self._is_inside(i, rows, cols)]
        return sorted(found)

    def _is_inside(self, i: int, rows: slice, cols: slice) -> bool:
        row, col = self._cell(self.chain.xy_mm[i])
        return (
            rows.start <= row < rows.stop and cols.start <= col < cols.stop and bool(self.kept[i])
        )

    def _cell(self, xy: Floats) -> tuple[int, int]:
        col, row = np.floor((xy - self.low) / CELL_MM + 1e-6).astype(int) + CELLS
        return int(row), int(col)

    def _ways(self, i: int, limits: _Limits) -> list[tuple[float, int, int]]:
        """Return (cost, penetration, way) for what may be done at a penetration."""
        n_ways = N_WAYS if self.role[i] == Role.COVER else DRAW_IN
        costs = change_costs(self.index, self.chain, i, n_ways, limits.change)
        return [
            (float(costs[way]) + self._held(i, way), i, int(way))
            for way in np.flatnonzero(costs < IMPOSSIBLE).tolist()
            if way < DRAW_IN or self._may_draw_in(i, way, limits)
        ]

    def _cost(self, i: int, way: int, limits: _Limits) -> float:
        """Return one of the costs of ``_ways`` again."""
        if way >= DRAW_IN and not self._may_draw_in(i, way, limits):
            return IMPOSSIBLE
        cost = change_cost(self.index, self.chain, i, way, limits.change)
        return float(cost) + self._held(i, way)

    def _held(self, i: int, way: int) -> float:
        held = RELUCTANCE_MM2[Role(int(self.role[i]))]
        if way >= DRAW_IN:
            return held + DRAWN_MM2
        return held + (LONE_COVER_MM2 if way == LEAVE_OUT and self.role[i] == Role.COVER else 0.0)

    def _may_draw_in(self, i: int, way: int, limits: _Limits) -> bool:
        """Return whether drawing a hole in leads out of the window, and crowds no other place."""
        xy = np.array(drawn_in(self.chain, i, DRAWN_SHARES[way - DRAW_IN]))
        row, col = self._cell(xy)
        if limits.hold(row, col):
            return False
        reach = CELLS - 1
        near = self.counts[max(0, row - reach) : row + CELLS, max(0, col - reach) : col + CELLS]
        if _window_sums(near).max() >= limits.most:
            return False
        beside = self.counts[row - 1 : row + 2, col - 1 : col + 2]
        return not beside.any()

    def _change(self, i: int, way: int) -> bool:
        second = int(self.chain.after[i])
        old = self._cell(self.chain.xy_mm[i])
        left_out = change_hole(self.index, self.chain, i, way)
        if left_out < 0:
            return False
        self.counts[old] -= 1
        if left_out:
            self.kept[i] = False
        else:
            new = self._cell(self.chain.xy_mm[i])
            self.counts[new] += 1
            self.members.setdefault((new[0] // CELLS, new[1] // CELLS), set()).add(i)
        if left_out > 1:
            self.kept[second] = False
            self.counts[self._cell(self.chain.xy_mm[second])] -= 1
        return True

    def rebuilt(self, runs: Sequence[Run]) -> list[Run]:
        """Return the runs with their changed penetrations."""
        made, start = [], 0
        for run in runs:
            legs, ids = [], []
            for leg, of_leg in zip(run.legs, run.region_ids, strict=True):
                rows = slice(start, start + len(leg))
                start += len(leg)
                keep = self.kept[rows]
                legs.append(Path(self.chain.xy_mm[rows][keep], leg.role[keep]))
                ids.append(of_leg[keep])
            made.append(replace(run, legs=tuple(legs), region_ids=tuple(ids)))
        return made


def _cells(xy: Floats, low: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    cells = np.floor((xy - low) / CELL_MM + 1e-6).astype(np.int64) + CELLS
    return cells[:, 1], cells[:, 0]


def _count_cells(xy: Floats, low: Floats) -> NDArray[np.float32]:
    rows, cols = _cells(xy, low)
    counts = np.zeros((rows.max() + CELLS + 1, cols.max() + CELLS + 1), np.float32)
    np.add.at(counts, (rows, cols), 1)
    return counts


def _window_sums(counts: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(
        cv2.boxFilter(counts, -1, (CELLS, CELLS), normalize=False, borderType=cv2.BORDER_CONSTANT)
    )
