"""A shape as strips: ladders that tile it, one along each run of its medial axis.

Rails are the outline itself, bridged straight across the mouths of side branches, so strips meet
without gap or overlap. In: a polygon. Out: strips, each with how its two ends meet the rest.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.axis_chains import Arm, Chain, Junction, find_chains, find_junctions
from firstpiece.geometry.ladder import (
    between_rails,
    cut_even,
    fan_start,
    turned_round,
    without_repeats,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.chord_graph import ChordGraph

# Two arms of a junction are one strip when the axis turns less than this. Three arms always have
# a pair within 60 degrees, so only hubs of bent arms stay unpaired.
_PAIR_TURN_RAD = np.radians(62.0)
# Unequal widths pair worse: one octave of width counts as this much turn.
_OCTAVE_TURN_RAD = np.radians(20.0)
_FAN_RAD = np.radians(8.0)


class EndKind(Enum):
    """How an end of a strip meets what is there."""

    CAP = "cap"
    BUTT = "butt"
    MITRE = "mitre"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, eq=False)
class StripEnd:
    """One end of a strip.

    Parameters
    ----------
    kind : EndKind
    border_mm : (k, 2) float64 [mm]
        What closes the strip, from the end of the left rail to that of the right, looking out.
    junction : int
        Index of the junction it butts on, or -1.
    """

    kind: EndKind
    border_mm: NDArray[np.float64]
    junction: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A piece of a shape between two rails.

    Parameters
    ----------
    ladder_mm : (k, 2, 2) float64 [mm]
        A closed strip repeats its first rung.
    start, end : StripEnd
    crosses : tuple of int
        Junctions it runs through.
    """

    ladder_mm: NDArray[np.float64]
    start: StripEnd
    end: StripEnd
    crosses: tuple[int, ...] = ()

    @property
    def is_closed(self) -> bool:
        """True for a ring."""
        return self.end.kind is EndKind.CLOSED


def find_strips(graph: ChordGraph) -> tuple[Strip, ...]:
    """Return the strips of a shape; none for one without an axis, such as a disc.

    Parameters
    ----------
    graph : ChordGraph
    """
    builder = _Builder(graph)
    return builder.strips()


class _Builder:
    """Joins chains to strips; holds the look-ups that every step needs."""

    def __init__(self, graph: ChordGraph) -> None:
        self.graph = graph
        self.points = graph.samples.points_mm
        self.chains = find_chains(graph)
        self.junctions = find_junctions(graph, self.chains)
        self.home = {arm: j for j, joint in enumerate(self.junctions) for arm in joint.arms}
        self.partner = self._pair_arms()

    def strips(self) -> tuple[Strip, ...]:
        found = [self._ring(c) for c in self.chains if c.is_closed]
        swallowed = {i for i, c in enumerate(self.chains) if self._is_inner(i)}
        done: set[int] = set(swallowed)
        arms = [(i, e) for i, c in enumerate(self.chains) if not c.is_closed for e in (0, 1)]
        # First from arms where a strip must begin, then loops made of through arms only.
        order = [a for a in arms if a not in self.partner] + arms
        found.extend(self._strip_from(a, done) for a in order if a[0] not in done)
        return tuple(found)

    def _is_inner(self, i: int) -> bool:
        """Tell whether a chain lies inside a merged junction."""
        chain = self.chains[i]
        if chain.is_closed:
            return False
        inside = [(i, e) not in self.home and self._meets_junction(chain, e) for e in (0, 1)]
        return all(inside)

    def _meets_junction(self, chain: Chain, end: int) -> bool:
        triangle = int(chain.path[0 if end == 0 else -1])
        ends = sum(
            (int(c.path[0]) == triangle) + (int(c.path[-1]) == triangle)
            for c in self.chains
            if not c.is_closed
        )
        return ends > 2

    def _pair_arms(self) -> dict[Arm, Arm]:
        """Return the partner of each arm that runs through its junction."""
        partner: dict[Arm, Arm] = {}
        for joint in self.junctions:
            ways = [self._way(joint, arm) for arm in joint.arms]
            best: tuple[float, int, int] | None = None
            for i in range(len(ways)):
                for j in range(i + 1, len(ways)):
                    cost, turn = _pair_cost(ways[i], ways[j])
                    if turn < _PAIR_TURN_RAD and (best is None or cost < best[0]):
                        best = (cost, i, j)
            if best is not None:
                a, b = joint.arms[best[1]], joint.arms[best[2]]
                partner[a], partner[b] = b, a
        return partner

    def _way(self, joint: Junction, arm: Arm) -> tuple[NDArray[np.float64], float]:
        """Return the direction in which an arm leaves its junction, and its width there."""
        chain = self.chains[arm[0]]
        path = chain.path if arm[1] == 0 else chain.path[::-1]
        centres, radii = self.graph.centres_mm[path], self.graph.radii_mm[path]
        away = np.hypot(*(centres - joint.centre_mm).T)
        outside = np.flatnonzero(away > joint.radius_mm)
        first = int(outside[0]) if len(outside) else len(path) // 2
        last = int(np.searchsorted(away, away[first] + 1.5 * radii[first]))
        last = min(max(last, first + 1), len(path) - 1)
        way = centres[last] - centres[min(first, last - 1)] if last > 0 else centres[0] * 0
        if len(outside) < 3:
            way = centres[-1] - joint.centre_mm
        size = float(np.hypot(*way))
        width = float(np.median(radii[min(first, last - 1) : last + 1]))
        return (way / size if size > 0 else np.array([1.0, 0.0])), width

    def _ring(self, chain: Chain) -> Strip:
        rows = self._rungs(chain.chords)
        rows = np.concatenate([rows, self._link(chain.chords[-1], chain.chords[0])])
        ladder = without_repeats(np.concatenate([rows, rows[:1]]))
        none = StripEnd(EndKind.CLOSED, np.empty((0, 2)))
        return Strip(ladder, none, none)

    def _strip_from(self, first: Arm, done: set[int]) -> Strip:
        """Follow chains through junctions from one arm to where the strip ends."""
        pieces, crosses = [], []
        arm = first
        while True:
            done.add(arm[0])
            chain = self.chains[arm[0]]
            rows = self._rungs(chain.chords)
            pieces.append(rows if arm[1] == 0 else turned_round(rows))
            far = (arm[0], 1 - arm[1])
            onward = self.partner.get(far)
            if onward is None or (onward[0] in done and onward != first):
                break
            crosses.append(self.home[far])
            pieces.append(self._bridge(far, onward))
            if onward == first:
                return self._loop(pieces, crosses)
            arm = onward
        ladder = without_repeats(_join(pieces))
        return Strip(ladder, self._end(first), self._end(far), tuple(crosses))

    def _loop(self, pieces: list[NDArray[np.float64]], crosses: list[int]) -> Strip:
        half = len(pieces[0]) // 2
        ladder = _join([pieces[0][half:], *pieces[1:], pieces[0][: half + 1]])
        none = StripEnd(EndKind.CLOSED, np.empty((0, 2)))
        return Strip(without_repeats(ladder), none, none, tuple(crosses))

    def _rungs(self, chords: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return chords as rungs, with rungs added where a rail passes over pruned outline."""
        rows = [self.points[chords[:1]]]
        for before, after in itertools.pairwise(chords):
            rows.append(self._link(before, after))
            rows.append(self.points[after][None])
        return np.concatenate(rows)

    def _link(self, before: NDArray[np.int64], after: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the rungs strictly between two chords of a chain."""
        samples = self.graph.samples
        left = samples.arc(int(after[0]), int(before[0]))[::-1]
        right = samples.arc(int(before[1]), int(after[1]))
        if len(left) + len(right) <= 3:
            return np.empty((0, 2, 2))
        return between_rails(self.points[left], self.points[right])[1:-1]

    def _bridge(self, come: Arm, leave: Arm) -> NDArray[np.float64]:
        left, right = self._sides(come, leave)
        return between_rails(self.points[left], self.points[right])

    def _sides(self, come: Arm, leave: Arm) -> tuple[list[int], list[int]]:
        """Return the samples left and right of the way in by one arm and out by another.

        A side passes along the outline between arms and straight across the mouths of arms.
        """
        arms = self.junctions[self.home[come]].arms
        n, i, j = len(arms), arms.index(come), arms.index(leave)
        mouth = [self.chains[c].outward(e) for c, e in arms]
        right: list[int] = []
        k = i
        while True:
            right += self.graph.samples.arc(mouth[k][0], mouth[(k + 1) % n][1]).tolist()
            k = (k + 1) % n
            if k == j:
                break
        left: list[int] = []
        k = i
        while True:
            left += self.graph.samples.arc(mouth[k - 1][0], mouth[k][1])[::-1].tolist()
            k = (k - 1) % n
            if k == j:
                break
        return left, right

    def _end(self, arm: Arm) -> StripEnd:
        """Return how the strip that leaves by an arm's outer end is closed there."""
        out_left, out_right = self.chains[arm[0]].outward(arm[1])
        left, right = out_right, out_left
        if arm not in self.home:
            border = self.graph.samples.arc(right, left)[::-1]
            return StripEnd(EndKind.CAP, self.points[border])
        j = self.home[arm]
        if any(a in self.partner for a in self.junctions[j].arms) or not self._owns(arm):
            return StripEnd(EndKind.BUTT, self.points[[left, right]], j)
        round_hub, _ = self._sides(arm, arm)
        return StripEnd(EndKind.CAP, self.points[round_hub], j)

    def _owns(self, arm: Arm) -> bool:
        """Tell whether an arm is the widest of a hub that no strip runs through."""
        joint = self.junctions[self.home[arm]]
        return arm == max(joint.arms, key=lambda a: (self._way(joint, a)[1], a))


def _join(pieces: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Return branch, bridge, branch … as one ladder whose rungs run evenly over each bridge.

    Towards the mouth of a side branch chords fan about its corners; those fans are laid out anew
    together with the bridge.
    """
    ladder = pieces[0]
    for bridge, branch in zip(pieces[1::2], pieces[2::2], strict=True):
        head, left, right = cut_even(ladder, fan_start(ladder, least_turn_rad=_FAN_RAD))
        back = turned_round(branch)
        tail, far_right, far_left = cut_even(back, fan_start(back, least_turn_rad=_FAN_RAD))
        over = between_rails(
            np.concatenate([left, bridge[:, 0], far_left[::-1]]),
            np.concatenate([right, bridge[:, 1], far_right[::-1]]),
        )
        ladder = np.concatenate([head[:-1], over, turned_round(tail)[1:]])
    return ladder


def _pair_cost(
    one: tuple[NDArray[np.float64], float], two: tuple[NDArray[np.float64], float]
) -> tuple[float, float]:
    """Return how badly two arms go together, and the turn between them [rad]."""
    turn = float(np.arccos(np.clip(-(one[0] @ two[0]), -1.0, 1.0)))
    octaves = abs(float(np.log2(max(one[1], 1e-6) / max(two[1], 1e-6))))
    return turn + _OCTAVE_TURN_RAD * octaves, turn
