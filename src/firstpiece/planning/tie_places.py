"""Where the ties lie: no more than two within a millimetre, each as near its run's end as can be.

Input: the places each end of each run may be tied at. Output: which of them is taken. Every end
first takes the nearest place that crowds nobody; then crowded ones move until nothing gets better.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

# Three ties that meet make a lump of a millimetre on the back (our lump model): two may.
MOST_TOGETHER = 2
TOGETHER_MM = 1.05
ROUNDS = 8


@dataclass(slots=True)
class _Board:
    """Ties laid so far, found by square of ``TOGETHER_MM``."""

    places: dict[int, tuple[float, float]] = field(default_factory=dict)
    squares: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))

    def put(self, end: int, place: Floats) -> None:
        self.places[end] = (float(place[0]), float(place[1]))
        self.squares[_square(self.places[end])].append(end)

    def lift(self, end: int) -> None:
        self.squares[_square(self.places.pop(end))].remove(end)

    def near(self, place: Sequence[float]) -> list[int]:
        """Return the ties within ``TOGETHER_MM`` of a place."""
        column, row = _square(place)
        return [
            k
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for k in self.squares.get((i, j), ())
            if (self.places[k][0] - place[0]) ** 2 + (self.places[k][1] - place[1]) ** 2
            <= TOGETHER_MM**2
        ]

    def crowding(self, place: Sequence[float]) -> int:
        """Return how many ties too many a tie at a place would make, for it and for the others."""
        others = self.near(place)
        total = max(0, len(others) + 1 - MOST_TOGETHER)
        for k in others:
            total += len(self.near(self.places[k])) + 1 > MOST_TOGETHER
        return total

    def crowded(self) -> Iterator[int]:
        """Yield the ends that have too many ties about them."""
        for end in sorted(self.places):
            if len(self.near(self.places[end])) > MOST_TOGETHER:
                yield end


def _square(place: Sequence[float]) -> tuple[int, int]:
    return int(place[0] // TOGETHER_MM), int(place[1] // TOGETHER_MM)


def spread_ties(choices: Sequence[Floats]) -> list[int]:
    """Return which of its places each end takes.

    Parameters
    ----------
    choices : sequence of (k, 2) float64 [mm]
        Places for each end, the most wanted first; at least one.

    Returns
    -------
    list of int
        Rows of ``choices``.
    """
    board = _Board()
    taken = [0] * len(choices)
    for end, places in enumerate(choices):
        taken[end] = _best(board, places)
        board.put(end, places[taken[end]])
    for _ in range(ROUNDS):
        moved = False
        for crowded in list(board.crowded()):
            for end in sorted(board.near(board.places[crowded])):
                board.lift(end)
                before = taken[end]
                taken[end] = _best(board, choices[end])
                board.put(end, choices[end][taken[end]])
                moved |= taken[end] != before
        if not moved:
            break
    return taken


def _best(board: _Board, places: Floats) -> int:
    crowding = [0] * len(places)
    for k, place in enumerate(places.tolist()):
        crowding[k] = board.crowding(place)
        if crowding[k] == 0:
            return k
    return int(np.argmin(crowding))
