"""The branches of a chord graph as rows of chords, with stubs removed and junctions grouped.

In: a chord graph. Out: chains of chords, and junctions as rings of arms in anticlockwise order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.kernels.leaf_pruning import walk_chains

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.chord_graph import ChordGraph

# A branch must reach this share of the junction's radius beyond its circle to be a strip of its
# own; less is a bump that the neighbouring rail follows. Our own trials on bold letters.
_LEAST_REACH = 0.30
_MERGE_RADII = 1.05
_MOST_PRUNING_ROUNDS = 8

Arm = tuple[int, int]
"""A chain and one of its ends: 0 the first chord, 1 the last."""


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """A run of chords between two ends or junctions.

    Parameters
    ----------
    chords : (m, 2) int64
        Left and right sample of each chord, looking along the run.
    path : (m + 1,) int64
        Triangles passed through.
    is_closed : bool
    """

    chords: NDArray[np.int64]
    path: NDArray[np.int64]
    is_closed: bool

    def outward(self, end: int) -> tuple[int, int]:
        """Return the left and right sample of the chord at an end, looking into the chain."""
        left, right = self.chords[0] if end == 0 else self.chords[-1][::-1]
        return int(left), int(right)


@dataclass(frozen=True, slots=True, eq=False)
class Junction:
    """A place where three or more chains meet.

    Parameters
    ----------
    arms : tuple of Arm
        Anticlockwise.
    centre_mm : (2,) float64 [mm]
        Centre of the largest circle in it.
    radius_mm : float [mm]
    inner : frozenset of int
        Short chains swallowed by it.
    """

    arms: tuple[Arm, ...]
    centre_mm: NDArray[np.float64]
    radius_mm: float
    inner: frozenset[int]


def find_chains(graph: ChordGraph) -> tuple[Chain, ...]:
    """Return the chains of a chord graph after taking off stubs.

    A stub is a branch to a free end that hardly leaves the circle of its junction.
    """
    kept = graph.kept.copy()
    chains = _chains(graph, kept)
    for _ in range(_MOST_PRUNING_ROUNDS):
        stubs = [c for c in chains if _is_stub(graph, kept, c)]
        if not stubs:
            break
        for stub in stubs:
            _remove(graph, kept, stub)
        chains = _chains(graph, kept)
    return chains


def find_junctions(graph: ChordGraph, chains: tuple[Chain, ...]) -> tuple[Junction, ...]:
    """Return the junctions between chains; junctions closer than a radius are one."""
    arm_at = _arms_by_triangle(chains)
    meeting = sorted(t for t, arms in arm_at.items() if len(arms) > 2)
    group = {t: t for t in meeting}
    inner = _merge_close(graph, chains, group)
    junctions = []
    for first in meeting:
        if group[first] != first:
            continue
        members = [t for t in meeting if group[t] == first]
        widest = max(members, key=lambda t: (graph.radii_mm[t], -t))
        junctions.append(
            Junction(
                arms=tuple(_arms_round(graph, chains, arm_at, inner, first)),
                centre_mm=graph.centres_mm[widest],
                radius_mm=float(graph.radii_mm[widest]),
                inner=frozenset(i for i in inner if int(chains[i].path[0]) in members),
            )
        )
    return tuple(junctions)


def _chains(graph: ChordGraph, kept: NDArray[np.bool_]) -> tuple[Chain, ...]:
    steps, starts, closed = walk_chains(graph.neighbors, kept)
    left = graph.triangles[steps[:, 0], (steps[:, 1] + 2) % 3]
    right = graph.triangles[steps[:, 0], (steps[:, 1] + 1) % 3]
    chords = np.stack([left, right], axis=1)
    after = graph.neighbors[steps[:, 0], steps[:, 1]]
    chains = []
    for i, is_closed in enumerate(closed):
        run = slice(int(starts[i]), int(starts[i + 1]))
        path = np.append(steps[run, 0], after[run][-1])
        chains.append(Chain(chords[run], path, bool(is_closed)))
    return tuple(chains)


def _length(points: NDArray[np.float64]) -> float:
    step = np.diff(points, axis=0)
    return float(np.hypot(step[:, 0], step[:, 1]).sum())


def _is_stub(graph: ChordGraph, kept: NDArray[np.bool_], chain: Chain) -> bool:
    degree = kept[chain.path[[0, -1]]].sum(axis=1)
    if chain.is_closed or sorted(np.minimum(degree, 3)) != [1, 3]:
        return False
    path = chain.path if degree[0] > 1 else chain.path[::-1]
    reach = _length(graph.centres_mm[path]) + graph.radii_mm[path[-1]] - graph.radii_mm[path[0]]
    return bool(reach < _LEAST_REACH * graph.radii_mm[path[0]])


def _remove(graph: ChordGraph, kept: NDArray[np.bool_], chain: Chain) -> None:
    for here, there in zip(chain.path[:-1], chain.path[1:], strict=True):
        kept[here] &= graph.neighbors[here] != there
        kept[there] &= graph.neighbors[there] != here


def _arms_by_triangle(chains: tuple[Chain, ...]) -> dict[int, list[Arm]]:
    arms: dict[int, list[Arm]] = {}
    for i, chain in enumerate(chains):
        if not chain.is_closed:
            arms.setdefault(int(chain.path[0]), []).append((i, 0))
            arms.setdefault(int(chain.path[-1]), []).append((i, 1))
    return arms


def _merge_close(
    graph: ChordGraph, chains: tuple[Chain, ...], group: dict[int, int]
) -> frozenset[int]:
    """Join groups of junction triangles along short chains; return those chains.

    Only a chain between two groups is swallowed, so each group stays a tree.
    """
    inner = set()
    for i, chain in enumerate(chains):
        a, b = int(chain.path[0]), int(chain.path[-1])
        if chain.is_closed or a not in group or b not in group or group[a] == group[b]:
            continue
        radius = max(float(graph.radii_mm[a]), float(graph.radii_mm[b]))
        if _length(graph.centres_mm[chain.path]) <= _MERGE_RADII * radius:
            inner.add(i)
            low, high = sorted((group[a], group[b]))
            for t, g in group.items():
                if g == high:
                    group[t] = low
    return frozenset(inner)


def _arms_round(
    graph: ChordGraph,
    chains: tuple[Chain, ...],
    arm_at: dict[int, list[Arm]],
    inner: frozenset[int],
    first: int,
) -> list[Arm]:
    """Return the outer arms of a group anticlockwise, walking round its tree of triangles."""
    found: list[Arm] = []
    todo: list[tuple[int, Arm | None]] = [(first, None)]
    while todo:
        triangle, entered = todo.pop()
        if entered is not None and entered[0] not in inner:
            found.append(entered)
            continue
        arms = sorted(arm_at[triangle], key=lambda arm: _edge_of(graph, chains, arm))
        if entered is not None:
            at = arms.index(entered)
            arms = arms[at + 1 :] + arms[:at]
        # The stack is emptied from its end: the first arm anticlockwise goes on last.
        for chain, end in reversed(arms):
            if chain in inner:
                todo.append((int(chains[chain].path[0 if end else -1]), (chain, 1 - end)))
            else:
                todo.append((triangle, (chain, end)))
    return found


def _edge_of(graph: ChordGraph, chains: tuple[Chain, ...], arm: Arm) -> int:
    """Return the local edge by which an arm leaves its junction triangle."""
    path = chains[arm[0]].path if arm[1] == 0 else chains[arm[0]].path[::-1]
    left, right = chains[arm[0]].outward(arm[1])
    corners = graph.triangles[path[0]].tolist()
    return next(k for k in range(3) if corners[k] not in (left, right))
