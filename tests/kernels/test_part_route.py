"""The round over parts with two ends, held against exhaustive search and a plain twin."""

import itertools

import numpy as np
import pytest

from firstpiece.kernels.part_route import improve_route, nearest_part_next, route_length


def distances(ends):
    return np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))


def neighbours(distance, k=8):
    blocked = distance.copy()
    twin = np.arange(len(distance))
    blocked[twin, twin] = blocked[twin, twin ^ 1] = np.inf
    return np.argsort(blocked, axis=1, kind="stable")[:, : min(k, len(distance) - 2)].copy()


def plain_length(distance, tour):
    return sum(distance[tour[i], tour[(i + 1) % len(tour)]] for i in range(1, len(tour), 2))


def shortest(distance):
    """Try every order and every way round of the parts."""
    n = len(distance) // 2
    best = np.inf
    for order in itertools.permutations(range(1, n)):
        for flips in itertools.product((0, 1), repeat=n - 1):
            tour = [0, 1]
            for part, flip in zip(order, flips, strict=True):
                tour += [2 * part + flip, 2 * part + 1 - flip]
            best = min(best, plain_length(distance, tour))
    return best


@pytest.mark.parametrize("seed", range(6))
def test_five_parts_are_visited_by_the_shortest_round(seed):
    distance = distances(np.random.default_rng(seed).uniform(0, 100, (10, 2)))
    tour = improve_route(distance, neighbours(distance), nearest_part_next(distance), 300)
    assert route_length(distance, tour) == pytest.approx(shortest(distance))


@pytest.mark.parametrize("n", [1, 2, 3, 4, 40, 150])
def test_every_part_is_visited_once_with_its_ends_together(n):
    distance = distances(np.random.default_rng(n).uniform(0, 100, (2 * n, 2)))
    first = nearest_part_next(distance)
    near = neighbours(distance) if n > 1 else np.zeros((2, 0), dtype=np.int64)
    tour = improve_route(distance, near, first, 2000)
    assert sorted(tour.tolist()) == list(range(2 * n))
    assert (tour[0::2] ^ 1 == tour[1::2]).all()
    assert route_length(distance, tour) == pytest.approx(plain_length(distance, tour))
    assert route_length(distance, tour) <= route_length(distance, first) + 1e-9


def test_more_kicks_never_make_it_longer_and_the_same_input_gives_the_same_round():
    distance = distances(np.random.default_rng(3).uniform(0, 100, (120, 2)))
    first, near = nearest_part_next(distance), neighbours(distance)
    lengths = [
        route_length(distance, improve_route(distance, near, first, kicks))
        for kicks in (0, 100, 1000, 5000)
    ]
    assert lengths == sorted(lengths, reverse=True)
    again = [improve_route(distance, near, first, 500).tolist() for _ in range(2)]
    assert again[0] == again[1]


def test_no_parts_make_an_empty_round():
    empty = np.zeros((0, 0))
    assert len(nearest_part_next(empty)) == 0
    assert route_length(empty, np.zeros(0, dtype=np.int64)) == 0.0
    nowhere = np.zeros((0, 0), dtype=np.int64)
    assert len(improve_route(empty, nowhere, np.zeros(0, dtype=np.int64), 10)) == 0
