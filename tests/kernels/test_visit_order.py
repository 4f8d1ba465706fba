"""Short walks against all orders (few places) and the bound of the shortest spanning tree."""

from itertools import permutations

import numpy as np
import pytest
from scipy.sparse.csgraph import minimum_spanning_tree

from firstpiece.kernels.visit_order import nearest_next, short_walk


def distances(n, seed):
    xy = np.random.default_rng(seed).uniform(0, 100, (n, 2))
    return np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))


def length(order, d):
    return float(d[order[:-1], order[1:]].sum())


@pytest.mark.parametrize("seed", range(5))
def test_within_a_quarter_of_the_best_order_of_seven(seed):
    d = distances(7, seed)
    best = min(length(np.array((0, *p)), d) for p in permutations(range(1, 7)))
    assert length(short_walk(d, 30), d) <= 1.25 * best + 1e-9


@pytest.mark.parametrize("n", [30, 200])
def test_between_the_tree_bound_and_nearest_next(n):
    d = distances(n, n)
    order = short_walk(d, 30)
    assert sorted(order.tolist()) == list(range(n))
    assert order[0] == 0
    assert minimum_spanning_tree(d).sum() <= length(order, d)
    assert length(order, d) <= length(nearest_next(d), d)


@pytest.mark.parametrize("n", [0, 1, 2])
def test_very_few_places(n):
    assert short_walk(np.zeros((n, n)), 5).tolist() == list(range(n))
