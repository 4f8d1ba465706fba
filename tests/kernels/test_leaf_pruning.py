"""The pruning kernel against a slow twin that repeats one obvious rule until nothing changes."""

import numpy as np
import pytest
from scipy.spatial import Delaunay

from firstpiece.kernels.leaf_pruning import prune_leaves, walk_chains


def slow_prune(neighbors, candidate, weight, threshold):
    kept = candidate.copy()
    while True:
        leaf = kept.sum(axis=1) == 1
        light = kept & (weight < threshold) & leaf[:, None]
        if not light.any():
            return kept
        t, k = np.argwhere(light)[0]
        other = neighbors[t, k]
        kept[t, k] = False
        kept[other] &= neighbors[other] != t


def random_tree(seed: int):
    """Return a mesh's dual with some edges cut, and symmetric random weights."""
    random = np.random.default_rng(seed)
    neighbors = Delaunay(random.uniform(size=(40, 2))).neighbors.astype(np.int32)
    weight = np.zeros(neighbors.shape)
    cut = np.zeros(neighbors.shape, dtype=bool)
    for t, row in enumerate(neighbors):
        for k, other in enumerate(row):
            if other > t:
                j = int(np.flatnonzero(neighbors[other] == t)[0])
                weight[t, k] = weight[other, j] = random.uniform()
                cut[t, k] = cut[other, j] = random.uniform() < 0.35
    neighbors = np.where(cut, -1, neighbors).astype(np.int32)
    return neighbors, neighbors >= 0, weight


@pytest.mark.parametrize("seed", range(12))
def test_kernel_agrees_with_the_slow_twin(seed):
    neighbors, candidate, weight = random_tree(seed)
    fast = prune_leaves(neighbors, candidate, weight, 0.6)
    slow = slow_prune(neighbors, candidate, weight, 0.6)
    # Where a whole tree goes, nothing is left in either.
    np.testing.assert_array_equal(fast, slow)


@pytest.mark.parametrize("seed", range(12))
def test_chains_use_every_edge_once_and_join_end_to_end(seed):
    neighbors, candidate, weight = random_tree(seed)
    kept = prune_leaves(neighbors, candidate, weight, 0.3)
    steps, starts, closed = walk_chains(neighbors, kept)
    degree = kept.sum(axis=1)
    assert len(steps) == kept.sum() // 2
    assert len({frozenset((int(t), int(neighbors[t, k]))) for t, k in steps}) == len(steps)
    for i, is_closed in enumerate(closed):
        run = steps[starts[i] : starts[i + 1]]
        after = neighbors[run[:, 0], run[:, 1]]
        np.testing.assert_array_equal(after[:-1], run[1:, 0])
        assert (degree[run[1:, 0]] == 2).all()
        if is_closed:
            assert after[-1] == run[0, 0]
        else:
            assert degree[after[-1]] != 2
            assert degree[run[0, 0]] != 2


def test_empty_input():
    none = np.empty((0, 3), np.int32)
    kept = prune_leaves(none, none >= 0, np.empty((0, 3)), 1.0)
    steps, starts, closed = walk_chains(none, kept)
    assert kept.shape == (0, 3)
    assert len(steps) == 0
    assert starts.tolist() == [0]
    assert len(closed) == 0
