"""From runs of one thread to the rows of the stitch list: moves, cuts, changes, limits.

Input: runs in sewing order. Output: arrays of the stitch plan, positions on the machine's grid of
0.01 mm, no step too long, none too short outside ties.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import split_long_steps
from firstpiece.model.stitch import Action, Role

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Machine
    from firstpiece.planning.path import Path

    Floats = NDArray[np.float64]

DIGITS = 2
SHORTEST_MM = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Stitches of one thread from one cut to the next; between its legs the needle jumps.

    Parameters
    ----------
    legs : tuple of Path
    region_ids : tuple of (n,) int32
        The area each stitch of each leg belongs to.
    thread : int
        Place in the plan's list of threads.
    """

    legs: tuple[Path, ...]
    region_ids: tuple[NDArray[np.int32], ...]
    thread: int


@dataclass(slots=True)
class StitchListWriter:
    """Collects rows in order; ``columns`` gives the finished arrays."""

    machine: Machine
    xy: list[Floats] = field(default_factory=list)
    rows: list[NDArray[np.int64]] = field(default_factory=list)
    here: Floats | None = None
    thread: int = -1
    loaded: list[int] = field(default_factory=list)

    def add_run(self, run: Run, later: list[int]) -> None:
        """Move to a run's first place and sew it.

        Parameters
        ----------
        run : Run
        later : list of int
            Threads of the runs after this one, in order.
        """
        if self.thread >= 0:
            change = run.thread != self.thread
            self._row(self.here, Action.COLOR_CHANGE if change else Action.TRIM, run.thread)
        if not self._load(run.thread, later):
            self._row(self.here, Action.STOP, run.thread)
        self.thread = run.thread
        for leg, ids in zip(run.legs, run.region_ids, strict=True):
            xy, keep = keep_limits(leg.xy_mm, leg.role, self.machine.longest_stitch_mm)
            self._jump(xy[0], int(ids[0]))
            self._sew(xy, leg.role[keep], ids[keep])

    def _jump(self, start: Floats, region: int) -> None:
        if self.here is None or float(np.hypot(*(start - self.here))) < 10**-DIGITS:
            return
        longest = self.machine.longest_jump_mm - 2 * 10**-DIGITS
        jumps = split_long_steps(np.vstack([self.here, start]), longest)
        self._rows(np.round(jumps[1:], DIGITS), Action.JUMP, region, Role.TRAVEL)

    def columns(self) -> tuple[Floats, NDArray[np.int64]]:
        """Return positions (n, 2) and action, thread, area, role (n, 4), closed by END."""
        if self.here is not None:
            self._row(self.here, Action.END, self.thread)
        if not self.xy:
            return np.empty((0, 2)), np.empty((0, 4), dtype=np.int64)
        return np.vstack(self.xy), np.vstack(self.rows)

    def _load(self, thread: int, later: list[int]) -> bool:
        """Put a thread on a needle; False when an operator has to stop and swap one.

        The thread needed last is taken off (Belady 1966).
        """
        if thread in self.loaded:
            return True
        if len(self.loaded) < self.machine.needles:
            self.loaded.append(thread)
            return True
        wait = [later.index(t) if t in later else len(later) for t in self.loaded]
        self.loaded[int(np.argmax(wait))] = thread
        return False

    def _row(self, xy: Floats | None, action: Action, thread: int) -> None:
        self.thread = thread
        place = np.zeros(2) if xy is None else xy
        self._rows(place[None], action, -1, Role.TRAVEL)

    def _rows(self, xy: Floats, action: Action, region: int, role: Role) -> None:
        self.xy.append(xy)
        one = [int(action), self.thread, region, int(role)]
        self.rows.append(np.tile(np.array(one, dtype=np.int64), (len(xy), 1)))

    def _sew(self, xy: Floats, role: NDArray[np.uint8], region: NDArray[np.int32]) -> None:
        self.xy.append(xy)
        stitch = np.full(len(xy), int(Action.STITCH))
        thread = np.full(len(xy), self.thread)
        self.rows.append(np.column_stack([stitch, thread, region, role]).astype(np.int64))
        self.here = xy[-1]


def keep_limits(
    xy_mm: Floats, role: NDArray[np.uint8], longest_mm: float
) -> tuple[Floats, NDArray[np.int64]]:
    """Return rounded penetrations within step limits, and the original row of each.

    Steps longer than ``longest_mm`` are split; a penetration nearer than ``SHORTEST_MM`` to the
    last is left out unless both belong to a tie.

    Parameters
    ----------
    xy_mm : (n, 2) float64 [mm]
    role : (n,) uint8
    longest_mm : float [mm]

    Returns
    -------
    xy_mm : (k, 2) float64 [mm]
    origin : (k,) int64
    """
    rounded = np.round(xy_mm, DIGITS)
    kept = _drop_short(rounded, role)
    xy = rounded[kept]
    if len(xy) < 2:
        return xy, kept
    # A grid step less than the limit, so that rounding cannot carry a part over it.
    longest = longest_mm - 2 * 10**-DIGITS
    steps = np.hypot(*np.diff(xy, axis=0).T)
    parts = np.maximum(1, np.ceil(steps / longest).astype(np.int64))
    origin = np.concatenate([kept[:1], np.repeat(kept[1:], parts)])
    return np.round(split_long_steps(xy, longest), DIGITS), origin


def _drop_short(xy: Floats, role: NDArray[np.uint8]) -> NDArray[np.int64]:
    """Return the rows to keep so that no step outside a tie is shorter than the limit."""
    kept: list[int] = [0]
    x, y = xy[:, 0].tolist(), xy[:, 1].tolist()
    tie = (role == Role.TIE).tolist()
    last = len(x) - 1
    for i in range(1, len(x)):
        a = kept[-1]
        gap2 = (x[i] - x[a]) ** 2 + (y[i] - y[a]) ** 2
        in_tie = tie[i] and tie[a]
        if gap2 >= SHORTEST_MM**2 or (in_tie and gap2 > 1e-6):
            kept.append(i)
        elif (i == last or (tie[i] and not tie[a])) and len(kept) > 1 and not tie[a]:
            kept[-1] = i
    return np.array(kept, dtype=np.int64)
