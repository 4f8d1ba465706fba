"""The fewest thread changes that the order of lying on each other allows, and the proof.

Input: threads, sizes and what goes before what. Output: blocks of one thread each and a lower bound
on their number. The search goes breadth first over sets of areas done; it is exact until a layer
grows too large, then a beam goes on (Ow & Morton 1988) and the bound stays where it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

# States kept per layer, fewer where there are many items: up to as many the search is exact.
MOST_STATES = 200
STATES_TIMES_ITEMS = 16000
# Wishes beyond this many are left to the geometry; each costs one search.
MOST_WISHES = 60
WISHES_TIMES_AREAS = 3000


@dataclass(frozen=True, slots=True)
class ColorBlocks:
    """Blocks in sewing order.

    Parameters
    ----------
    blocks : tuple of tuple of int
        Positions of areas, each block of one thread.
    fewest : int
        No order has fewer blocks than this.
    """

    blocks: tuple[tuple[int, ...], ...]
    fewest: int

    @property
    def is_proved(self) -> bool:
        """True when no order can have fewer blocks."""
        return len(self.blocks) == self.fewest


@dataclass(frozen=True, slots=True)
class _Work:
    """Areas that can be told apart: those of one thread that wait for the same are one item."""

    thread: list[int]
    need: list[int]
    size: list[float]
    members: list[list[int]]
    after: list[int]


# Score and the items of each block so far.
_Way = tuple[float, tuple[tuple[int, ...], ...]]


def fewest_blocks(
    thread: Sequence[int],
    before: list[set[int]],
    size: Sequence[float],
    *,
    wished: Sequence[tuple[int, int]] = (),
) -> ColorBlocks:
    """Return as few blocks as can be; among equals those that sew large areas early.

    Parameters
    ----------
    thread : sequence of int
        The thread of each area.
    before : list of set of int
        What must be sewn before each area; free of rings.
    size : sequence of float
    wished : sequence of (int, int)
        (first, then) pairs kept as far as they cost no block, earlier ones first.
    """
    best = _search(_gather(thread, before, size))
    held = [set(b) for b in before]
    most = min(MOST_WISHES, WISHES_TIMES_AREAS // max(len(thread), 1))
    for first, then in list(wished)[:most]:
        if first in held[then] or _reaches(held, first, then):
            continue
        trial = [set(b) for b in held]
        trial[then].add(first)
        found = _search(_gather(thread, trial, size))
        if len(found.blocks) <= len(best.blocks):
            held, best = trial, ColorBlocks(found.blocks, best.fewest)
    return best


def _reaches(before: list[set[int]], start: int, goal: int) -> bool:
    """Return whether ``start`` has to wait for ``goal``, directly or through others."""
    seen: set[int] = set()
    todo = [start]
    while todo:
        for k in before[todo.pop()] - seen:
            seen.add(k)
            todo.append(k)
    return goal in seen


def _gather(thread: Sequence[int], before: list[set[int]], size: Sequence[float]) -> _Work:
    """Return the areas with like ones put together."""
    later: list[set[int]] = [set() for _ in before]
    for k, firsts in enumerate(before):
        for first in firsts:
            later[first].add(k)
    item_of: dict[tuple[int, frozenset[int], frozenset[int]], int] = {}
    place = []
    members: list[list[int]] = []
    for k in range(len(before)):
        key = (thread[k], frozenset(before[k]), frozenset(later[k]))
        if key not in item_of:
            item_of[key] = len(members)
            members.append([])
        place.append(item_of[key])
        members[place[k]].append(k)
    need = [_bits({place[b] for b in before[m[0]]}) for m in members]
    return _Work(
        [thread[m[0]] for m in members],
        need,
        [sum(size[k] for k in m) for m in members],
        members,
        _blocks_from(thread, before, members),
    )


def _bits(items: set[int]) -> int:
    return sum(1 << i for i in items)


def _blocks_from(
    thread: Sequence[int], before: list[set[int]], members: list[list[int]]
) -> list[int]:
    """Return how many blocks a chain that starts at each item needs at least."""
    longest = [1] * len(before)
    for k in reversed(_in_order(before)):
        for first in before[k]:
            step = longest[k] + (thread[first] != thread[k])
            longest[first] = max(longest[first], step)
    return [longest[m[0]] for m in members]


def _in_order(before: list[set[int]]) -> list[int]:
    """Return all areas so that each comes after what it waits for."""
    waits = [len(b) for b in before]
    later: list[list[int]] = [[] for _ in before]
    for k, firsts in enumerate(before):
        for first in firsts:
            later[first].append(k)
    order = [k for k, n in enumerate(waits) if n == 0]
    for k in order:
        for over in later[k]:
            waits[over] -= 1
            if waits[over] == 0:
                order.append(over)
    return order


def _search(work: _Work) -> ColorBlocks:
    """Return the blocks found, layer by layer of sets of items done."""
    n = len(work.thread)
    if n == 0:
        return ColorBlocks((), 0)
    full = (1 << n) - 1
    most = min(MOST_STATES, max(2, STATES_TIMES_ITEMS // n))
    of_thread = {t: [k for k in range(n) if work.thread[k] == t] for t in sorted(set(work.thread))}
    states: dict[int, _Way] = {0: (0.0, ())}
    bound, is_exact = _still_needed(work, 0), True
    while full not in states:
        following = _next_layer(work, of_thread, states)
        kept = _undominated(following, most)
        if is_exact:
            depth = len(next(iter(kept.values()))[1])
            bound = max(bound, depth + min(_still_needed(work, done) for done in kept))
        if len(kept) > most:
            is_exact = False
            ranked = sorted(kept.items(), key=lambda s: (_still_needed(work, s[0]), s[1]))
            kept = dict(ranked[:most])
        states = kept
    blocks = states[full][1]
    return ColorBlocks(
        tuple(tuple(k for item in block for k in work.members[item]) for block in blocks), bound
    )


def _next_layer(
    work: _Work, of_thread: dict[int, list[int]], states: dict[int, _Way]
) -> dict[int, _Way]:
    """Return every set reached with one more block, each by its best way."""
    following: dict[int, _Way] = {}
    for done, (score, blocks) in states.items():
        for items in of_thread.values():
            block = _closure(items, done, work.need)
            if not block:
                continue
            new = done | _bits(set(block))
            # Among equally short orders the one that sews large areas early wins.
            value = score + sum(work.size[k] for k in block) * len(blocks)
            way = (value, (*blocks, tuple(block)))
            if new not in following or way < following[new]:
                following[new] = way
    return following


def _undominated(layer: dict[int, _Way], most: int) -> dict[int, _Way]:
    """Return the sets inside no other of the layer; from a smaller one no order ends sooner."""
    kept: dict[int, _Way] = {}
    for done in sorted(layer, key=lambda s: (-s.bit_count(), s)):
        if len(kept) > 2 * most or not any(done & ~larger == 0 for larger in kept):
            kept[done] = layer[done]
    return kept


def _still_needed(work: _Work, done: int) -> int:
    """Return a lower bound on the blocks that what is left needs."""
    left = [k for k in range(len(work.thread)) if not done >> k & 1]
    colors = {work.thread[k] for k in left}
    return max(len(colors), max((work.after[k] for k in left), default=0))


def _closure(items: list[int], done: int, need: list[int]) -> list[int]:
    """Return the items of one thread that can be sewn now, later ones after earlier ones."""
    block: list[int] = []
    left = [k for k in items if not done >> k & 1]
    while True:
        free = [k for k in left if not need[k] & ~done]
        if not free:
            return block
        block += free
        done |= _bits(set(free))
        left = [k for k in left if not done >> k & 1]
