from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstpiece.errors import InputError
from firstpiece.scheduling.needle_loading import load_best_order, load_fixed_order

queues = st.lists(
    st.frozensets(st.sampled_from("abcdefg"), min_size=1, max_size=3), min_size=1, max_size=5
)


def fewest_by_trying(queue, needles):
    """Slow twin: try every set of cones at every job, keeping the cheapest way to each."""
    cones = sorted(frozenset().union(*queue))
    ways = {frozenset(): 0}
    for i, job in enumerate(queue):
        after = {}
        for before, cost in ways.items():
            spare = [c for c in cones if c not in job]
            for mask in range(1 << len(spare)):
                held = job | {c for k, c in enumerate(spare) if mask >> k & 1}
                if len(held) > needles:
                    continue
                price = cost + (len(held - before) if i else 0)
                after[held] = min(price, after.get(held, price))
        ways = after
    return min(ways.values())


@settings(max_examples=40, deadline=None)
@given(queues, st.integers(3, 5))
def test_fixed_order_matches_trying_everything(queue, needles):
    found = load_fixed_order(queue, needles=needles)
    assert found.changes == fewest_by_trying(queue, needles)
    assert all(job <= held for job, held in zip(queue, found.loaded, strict=True))
    assert all(len(held) <= needles for held in found.loaded)


@settings(max_examples=15, deadline=None)
@given(queues, st.integers(3, 4))
def test_best_order_matches_trying_every_order(queue, needles):
    found = load_best_order(queue, needles=needles)
    every = (load_fixed_order(p, needles=needles).changes for p in permutations(queue))
    assert found.changes == min(every)
    assert found.is_proved
    assert sorted(found.order) == list(range(len(queue)))


def test_too_many_cones_for_the_machine_is_said():
    with pytest.raises(InputError, match="job 2 needs 3 cones but the machine has 2"):
        load_fixed_order([frozenset("a"), frozenset("abc")], needles=2)
