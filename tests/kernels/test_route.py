"""Cheapest grid paths against scipy's shortest paths on the same graph."""

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from firstpiece.kernels.route import cheapest_path


def graph_of(cost):
    h, w = cost.shape
    rows, cols, weights = [], [], []
    for r in range(h):
        for c in range(w):
            for dr in (-1, 0, 1):
                for dc in (-1, 0, 1):
                    rr, cc = r + dr, c + dc
                    if (dr or dc) and 0 <= rr < h and 0 <= cc < w:
                        weight = np.hypot(dr, dc) * (cost[r, c] + cost[rr, cc]) / 2
                        if np.isfinite(weight):
                            rows.append(r * w + c)
                            cols.append(rr * w + cc)
                            weights.append(weight)
    return csr_matrix((weights, (rows, cols)), shape=(h * w, h * w))


def length_of(path, cost):
    steps = np.hypot(*np.diff(path, axis=0).T)
    along = cost[path[:, 0], path[:, 1]]
    return float((steps * (along[1:] + along[:-1]) / 2).sum())


@pytest.mark.parametrize("seed", range(6))
def test_paths_are_as_cheap_as_scipys(seed):
    generator = np.random.default_rng(seed)
    cost = generator.uniform(1, 5, (14, 17))
    cost[generator.uniform(size=cost.shape) < 0.25] = np.inf
    cost[0, 0] = cost[13, 16] = 1.0
    best = dijkstra(graph_of(cost), indices=0)[13 * 17 + 16]
    path = cheapest_path(cost, 0, 0, 13, 16)
    if np.isinf(best):
        assert len(path) == 0
    else:
        assert path[0].tolist() == [0, 0]
        assert path[-1].tolist() == [13, 16]
        assert (np.abs(np.diff(path, axis=0)).max(axis=1) == 1).all()
        assert length_of(path, cost) == pytest.approx(best)


def test_no_way_and_no_move():
    wall = np.ones((3, 5))
    wall[:, 2] = np.inf
    assert cheapest_path(wall, 1, 0, 1, 4).shape == (0, 2)
    assert cheapest_path(wall, 1, 1, 1, 1).tolist() == [[1, 1]]
