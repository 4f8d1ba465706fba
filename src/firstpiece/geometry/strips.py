"""A shape as strips: ladders that tile it, one along each run of its medial axis.

Rails are the outline itself, bridged straight across the mouths of side branches, so strips meet
without gap or overlap. In: a polygon. Out: strips, each with how its two ends meet the rest.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.arm_pairs import Way, best_pair, leaving_direction
from firstpiece.geometry.axis_chains import Arm, Chain, Junction, find_chains, find_junctions
from firstpiece.geometry.hub_bridge import Bridge, Side, build_bridge, join_over
from firstpiece.geometry.ladder import (
    between_rails,
    rail_lengths,
    turned_round,
    without_repeats,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.chord_graph import ChordGraph


def _nothing() -> NDArray[np.float64]:
    return np.empty((0, 2))


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
    left_tail_mm, right_tail_mm : (a, 2), (b, 2) float64 [mm]
        Outline between the last rung and the border.
    """

    kind: EndKind
    border_mm: NDArray[np.float64]
    junction: int = -1
    left_tail_mm: NDArray[np.float64] = field(default_factory=_nothing)
    right_tail_mm: NDArray[np.float64] = field(default_factory=_nothing)


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


_NO_END = StripEnd(EndKind.CLOSED, _nothing())


def find_strips(graph: ChordGraph) -> tuple[Strip, ...]:
    """Return the strips of a shape; none for one without an axis, such as a disc.

    Parameters
    ----------
    graph : ChordGraph
    """
    return _Builder(graph).strips()


class _Builder:
    """Joins chains to strips; holds the look-ups that every step needs."""

    def __init__(self, graph: ChordGraph) -> None:
        self.graph = graph
        self.points = graph.samples.points_mm
        self.chains = find_chains(graph)
        self.junctions = find_junctions(graph, self.chains)
        self.home = {arm: j for j, joint in enumerate(self.junctions) for arm in joint.arms}
        self.inner = frozenset().union(*(joint.inner for joint in self.junctions))
        self.ladders = [self._rungs(chain) for chain in self.chains]
        self.partner: dict[Arm, Arm] = {}
        self.bridges: dict[tuple[Arm, Arm], Bridge] = {}
        self.mouths: dict[Arm, tuple[NDArray[np.float64], NDArray[np.float64]]] = {}
        self._pair_arms()

    def strips(self) -> tuple[Strip, ...]:
        found = [self._ring(i) for i, c in enumerate(self.chains) if c.is_closed]
        done = set(self.inner)
        arms = [(i, e) for i, c in enumerate(self.chains) if not c.is_closed for e in (0, 1)]
        # First from arms where a strip must begin, then loops made of through arms only.
        order = [a for a in arms if a not in self.partner] + arms
        found.extend(self._strip_from(a, done) for a in order if a[0] not in done)
        return tuple(found)

    def _pair_arms(self) -> None:
        """Choose the stroke through each junction and lay its bridge."""
        for joint in self.junctions:
            pair = best_pair([self._way(joint, arm) for arm in joint.arms])
            if pair is None:
                continue
            come, leave = joint.arms[pair[0]], joint.arms[pair[1]]
            self.partner[come], self.partner[leave] = leave, come
            self._lay_bridge(joint, come, leave)

    def _way(self, joint: Junction, arm: Arm) -> Way:
        """Return the direction in which an arm leaves its junction, and its half width there."""
        chain = self.chains[arm[0]]
        path = chain.path if arm[1] == 0 else chain.path[::-1]
        return leaving_direction(self.graph.centres_mm[path], self.graph.radii_mm[path], joint)

    def _lay_bridge(self, joint: Junction, come: Arm, leave: Arm) -> None:
        sides, branches = self._sides(joint, come, leave)
        bridge = build_bridge(
            turned_round(self._outward(come)), self._outward(leave), sides, joint.radius_mm
        )
        self.bridges[come, leave] = bridge
        self.bridges[leave, come] = Bridge(
            bridge.drop_second,
            bridge.drop_first,
            (bridge.rails_mm[1][::-1], bridge.rails_mm[0][::-1]),
            (bridge.mouths[1], bridge.mouths[0]),
        )
        # Looking into the junction along a branch on the right, the first ladder lies left.
        if bridge.mouths[0] is not None:
            self.mouths[branches[0][0]] = (bridge.mouths[0].after, bridge.mouths[0].before)
        if bridge.mouths[1] is not None:
            self.mouths[branches[1][0]] = (bridge.mouths[1].before, bridge.mouths[1].after)

    def _outward(self, arm: Arm) -> NDArray[np.float64]:
        """Return the ladder of an arm's chain, walked away from its junction."""
        rows = self.ladders[arm[0]]
        return rows if arm[1] == 0 else turned_round(rows)

    def _ring(self, i: int) -> Strip:
        chain, rows = self.chains[i], self.ladders[i]
        rows = np.concatenate([rows, self._link(chain.chords[-1], chain.chords[0]), rows[:1]])
        return Strip(without_repeats(rows), _NO_END, _NO_END)

    def _strip_from(self, first: Arm, done: set[int]) -> Strip:
        """Follow chains through junctions from one arm to where the strip ends."""
        run = [first]
        done.add(first[0])
        while True:
            far = (run[-1][0], 1 - run[-1][1])
            onward = self.partner.get(far)
            if onward is None or onward[0] in done:
                break
            run.append(onward)
            done.add(onward[0])
        crosses = tuple(self.home[arm] for arm in run[1:])
        if onward == first:
            return self._loop(run, (*crosses, self.home[first]))
        ladder = self._joined(run, self._outward(first))
        return Strip(without_repeats(ladder), self._end(first), self._end(far), crosses)

    def _loop(self, run: list[Arm], crosses: tuple[int, ...]) -> Strip:
        """Return the ring of arms that all run through their junctions."""
        rows = self._outward(run[0])
        along = rail_lengths(rows).mean(axis=1)
        half = int(np.searchsorted(along, 0.5 * along[-1]))
        ladder = self._joined([*run, run[0]], rows[half:], last=rows[: half + 1])
        return Strip(without_repeats(ladder), _NO_END, _NO_END, crosses)

    def _joined(
        self,
        run: list[Arm],
        ladder: NDArray[np.float64],
        *,
        last: NDArray[np.float64] | None = None,
    ) -> NDArray[np.float64]:
        """Return one ladder through all arms of a run; ``last`` stands in for the last arm's."""
        for before, arm in itertools.pairwise(run):
            bridge = self.bridges[(before[0], 1 - before[1]), arm]
            is_last = last is not None and arm is run[-1]
            rows = last if is_last and last is not None else self._outward(arm)
            ladder = join_over(ladder, bridge, rows)
        return ladder

    def _rungs(self, chain: Chain) -> NDArray[np.float64]:
        """Return chords as rungs, with rungs added where a rail passes over pruned outline."""
        chords = chain.chords
        ring_next = self.graph.samples.following
        same = chords[1:] == chords[:-1]
        is_step = np.stack(
            [
                ring_next[chords[1:, 0]] == chords[:-1, 0],
                ring_next[chords[:-1, 1]] == chords[1:, 1],
            ],
            axis=1,
        )
        rows, done = [], 0
        for i in np.flatnonzero(~(same | is_step).all(axis=1)):
            rows.append(self.points[chords[done : i + 1]])
            rows.append(self._link(chords[i], chords[i + 1]))
            done = int(i) + 1
        return np.concatenate([*rows, self.points[chords[done:]]])

    def _link(self, before: NDArray[np.int64], after: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the rungs strictly between two chords of a chain."""
        samples = self.graph.samples
        left = samples.arc(int(after[0]), int(before[0]))[::-1]
        right = samples.arc(int(before[1]), int(after[1]))
        if len(left) + len(right) <= 3:
            return np.empty((0, 2, 2))
        return between_rails(self.points[left], self.points[right])[1:-1]

    def _sides(
        self, joint: Junction, come: Arm, leave: Arm
    ) -> tuple[tuple[Side, Side], tuple[list[Arm], list[Arm]]]:
        """Return both sides of the way in by one arm and out by another, and their branches."""
        arms = joint.arms
        i, j, n = arms.index(come), arms.index(leave), len(arms)
        # Anticlockwise from the arm we come by lie the branches on the right.
        right = [arms[(i + k) % n] for k in range(1, (j - i) % n or n)]
        left = [arms[(i - k) % n] for k in range(1, (i - j) % n or n)]
        corners = [self.chains[c].outward(e) for c, e in (come, leave)]
        sides = []
        for on_left, branches in ((True, left), (False, right)):
            mouths = [self.chains[c].outward(e) for c, e in branches]
            near = 1 if on_left else 0
            stops = [corners[0][near], *[m[k] for m in mouths for k in (1 - near, near)]]
            stops.append(corners[1][1 - near])
            arcs = [self._arc(a, b, on_left) for a, b in zip(stops[::2], stops[1::2], strict=True)]
            whole = len(mouths) != 1
            before = np.concatenate(arcs) if whole else arcs[0]
            sides.append(Side(before, np.empty((0, 2)) if whole else arcs[1], not whole))
        return (sides[0], sides[1]), (left, right)

    def _arc(self, first: int, last: int, on_left: bool) -> NDArray[np.float64]:  # noqa: FBT001
        """Return the outline between two samples, walked forward along a strip."""
        samples = self.graph.samples
        arc = samples.arc(last, first)[::-1] if on_left else samples.arc(first, last)
        return self.points[arc]

    def _end(self, arm: Arm) -> StripEnd:
        """Return how the strip that leaves by an arm's outer end is closed there."""
        right, left = self.chains[arm[0]].outward(arm[1])
        if arm not in self.home:
            border = self.graph.samples.arc(right, left)[::-1]
            return StripEnd(EndKind.CAP, self.points[border])
        j = self.home[arm]
        joint = self.junctions[j]
        if arm in self.mouths:
            tails = self.mouths[arm]
            return StripEnd(EndKind.BUTT, np.array([t[-1] for t in tails]), j, *tails)
        if any(a in self.partner for a in joint.arms) or not self._owns(arm):
            return StripEnd(EndKind.BUTT, self.points[[left, right]], j)
        sides, _ = self._sides(joint, arm, arm)
        return StripEnd(EndKind.CAP, sides[0].before, j)

    def _owns(self, arm: Arm) -> bool:
        """Tell whether an arm is the widest of a hub that no strip runs through."""
        joint = self.junctions[self.home[arm]]
        return arm == max(joint.arms, key=lambda a: (self._way(joint, a)[1], a))
