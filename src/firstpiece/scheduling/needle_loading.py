"""Cones on needles over a queue of jobs, with the fewest cone changes.

Input: the cones each job needs and the number of needles. Output: an order of jobs, what is loaded
during each, and how many changes that takes, with a lower bound beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import InputError
from firstpiece.kernels.tool_loading import count_changes, load_in_order, search_best_order

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

PROOF_NODES = 8_000_000
"""Partial orders looked at before the proof is given up; about a second on one core."""


@dataclass(frozen=True, slots=True)
class NeedleLoading:
    """A queue in sewing order with its cones.

    ``order`` holds positions in the queue as given; ``loaded[i]`` the cones on the machine during
    the i-th job sewn; ``changes`` counts cones put on after the first loading; no order at all has
    fewer than ``bound``.
    """

    order: tuple[int, ...]
    loaded: tuple[frozenset[str], ...]
    changes: int
    bound: int

    @property
    def is_proved(self) -> bool:
        """True when no order can have fewer changes."""
        return self.changes == self.bound


def load_fixed_order(cones: Sequence[frozenset[str]], *, needles: int) -> NeedleLoading:
    """Return the loading with the fewest changes for the queue in the order given.

    Parameters
    ----------
    cones : sequence of frozenset of str
        The cones that each job needs.
    needles : int
        Needles on the machine.

    Raises
    ------
    InputError
        When one job needs more cones than there are needles.
    """
    names, needs = _table(cones, needles)
    order = np.arange(len(cones), dtype=np.int64)
    loaded = load_in_order(needs, order, needles)
    changes = int(count_changes(loaded))
    return _answer(names, order, loaded, changes)


def load_best_order(cones: Sequence[frozenset[str]], *, needles: int) -> NeedleLoading:
    """Return the order of the queue, and its loading, with the fewest cone changes found.

    Exact for queues that branch and bound can finish within ``PROOF_NODES`` (ten jobs of ten cones
    always so far); longer queues get the best order of a local search and an honest bound.
    """
    names, needs = _table(cones, needles)
    start = _improve(needs, np.arange(len(cones), dtype=np.int64), needles)
    order, changes, proved = search_best_order(needs, needles, start, PROOF_NODES)
    loaded = load_in_order(needs, order, needles)
    bound = int(changes) if proved else max(0, len(names) - needles)
    return _answer(names, order, loaded, bound)


def _table(
    cones: Sequence[frozenset[str]], needles: int
) -> tuple[tuple[str, ...], NDArray[np.uint8]]:
    for i, wanted in enumerate(cones):
        if len(wanted) > needles:
            msg = f"job {i + 1} needs {len(wanted)} cones but the machine has {needles} needles"
            raise InputError(msg, remedy="add a stop to change a cone, or use fewer colours")
    names = tuple(sorted(frozenset().union(*cones)))
    needs = np.array([[name in job for name in names] for job in cones], dtype=np.uint8)
    return names, needs.reshape(len(cones), len(names))


def _improve(needs: NDArray[np.uint8], order: NDArray[np.int64], needles: int) -> NDArray[np.int64]:
    """Move single jobs to better places until none helps."""
    best = count_changes(load_in_order(needs, order, needles))
    improved = True
    while improved:
        improved = False
        for i in range(len(order)):
            for j in range(len(order)):
                trial = np.insert(np.delete(order, i), j, order[i])
                cost = count_changes(load_in_order(needs, trial, needles))
                if cost < best:
                    order, best, improved = trial, cost, True
    return order


def _answer(
    names: tuple[str, ...], order: NDArray[np.int64], loaded: NDArray[np.uint8], bound: int
) -> NeedleLoading:
    sets = tuple(frozenset(names[j] for j in np.flatnonzero(row)) for row in loaded)
    return NeedleLoading(tuple(map(int, order)), sets, int(count_changes(loaded)), bound)
