"""Which cone sits on which needle as a head goes through its jobs, and what is changed before each.

Input: jobs in order and what is on the needles as the plan begins. Output: the needles during each
job and the changes before it. Which cones stay is decided by ``tool_loading``; here each gets its
needle and keeps it, and a new cone goes where the needle has the right size already, if one does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.tool_loading import load_in_order
from firstpiece.model.day import ConeChange

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from firstpiece.model.day import Cone, Head, SewingJob

Needles = tuple["Cone | None", ...]


@dataclass(frozen=True, slots=True)
class NeedleChart:
    """Changes before the first job, and for each job the changes before it and its needles."""

    first_loading: tuple[ConeChange, ...]
    changes: tuple[tuple[ConeChange, ...], ...]
    needles: tuple[Needles, ...]


@dataclass(frozen=True, slots=True)
class ConeTable:
    """Cones by number and the 0/1 table of which job needs which.

    ``needs`` is (n + 1, m) uint8; its last row is what is on the needles as the plan begins.
    """

    cones: tuple[Cone, ...]
    needs: NDArray[np.uint8]
    n_needles: int

    def load(self, order: Sequence[int]) -> NDArray[np.uint8]:
        """Return what is loaded at the beginning and during each job.

        Parameters
        ----------
        order : sequence of int
            Rows of ``needs``.

        Returns
        -------
        (k + 1, m) uint8
        """
        rows = np.array([len(self.needs) - 1, *order], dtype=np.int64)
        loaded: NDArray[np.uint8] = load_in_order(self.needs, rows, self.n_needles)
        return loaded

    def count_changes(self, order: Sequence[int]) -> tuple[int, ...]:
        """Return the cones put on before each job of an order, the first loading left out."""
        loaded = self.load(order)
        put_on = (loaded[1:] > loaded[:-1]).sum(axis=1)
        return tuple(int(n) for n in put_on)


def make_cone_table(jobs: Sequence[SewingJob], head: Head) -> ConeTable:
    """Return the table of a head's jobs; each must need no more cones than it has needles."""
    loaded = {cone for cone in head.loaded if cone is not None}
    cones = tuple(sorted(loaded.union(*(job.cones for job in jobs))))
    rows = [[cone in set(job.cones) for cone in cones] for job in jobs]
    rows.append([cone in loaded for cone in cones])
    needs = np.array(rows, dtype=np.uint8).reshape(len(jobs) + 1, len(cones))
    return ConeTable(cones, needs, head.needles)


def chart_needles(table: ConeTable, order: Sequence[int], head: Head) -> NeedleChart:
    """Return the needles and their changes for jobs sewn in this order."""
    loaded = table.load(order)
    start: list[Cone | None] = [*head.loaded, *[None] * (head.needles - len(head.loaded))]
    first, needles = _change(start, _cones(table, loaded[0]))
    changes, charts = [], []
    for row in loaded[1:]:
        before, needles = _change(list(needles), _cones(table, row))
        changes.append(before)
        charts.append(needles)
    return NeedleChart(first, tuple(changes), tuple(charts))


def _cones(table: ConeTable, row: NDArray[np.uint8]) -> tuple[Cone, ...]:
    return tuple(table.cones[int(j)] for j in np.flatnonzero(row))


def _change(
    needles: list[Cone | None], wanted: tuple[Cone, ...]
) -> tuple[tuple[ConeChange, ...], Needles]:
    """Return the changes that bring every wanted cone onto a needle, and the needles after."""
    missing = [cone for cone in wanted if cone not in needles]
    changes = []
    for cone in missing:
        free = [i for i, there in enumerate(needles) if there is None or there not in wanted]
        at = min(free, key=lambda i: (_unlike(needles[i], cone), i))
        changes.append(ConeChange(at + 1, needles[at], cone))
        needles[at] = cone
    return tuple(sorted(changes, key=lambda c: c.needle)), tuple(needles)


def _unlike(there: Cone | None, cone: Cone) -> int:
    """Return 0 for a needle of the right size, 1 for an empty one, 2 for a wrong size."""
    if there is None:
        return 1
    alike = (there.metric_size, there.point) == (cone.metric_size, cone.point)
    return 0 if alike else 2
