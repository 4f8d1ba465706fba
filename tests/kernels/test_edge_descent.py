"""The walk to flatter pixels against a slow twin, and what it is for."""

import numpy as np
import pytest

from firstpiece.kernels.edge_descent import descend_steepness


def slow(steep, least, steps):
    h, w = steep.shape
    out = np.zeros((h, w), dtype=np.int32)
    for y in range(h):
        for x in range(w):
            j, i = y, x
            for _ in range(steps):
                if steep[j, i] <= least:
                    break
                around = [
                    (steep[b, a], b, a)
                    for b in range(max(0, j - 1), min(h, j + 2))
                    for a in range(max(0, i - 1), min(w, i + 2))
                ]
                _, b, a = min(around)
                if steep[b, a] >= steep[j, i]:
                    break
                j, i = b, a
            out[y, x] = j * w + i
    return out


@pytest.mark.parametrize("shape", [(0, 0), (1, 1), (1, 7), (9, 13)])
@pytest.mark.parametrize("steps", [0, 1, 3])
def test_agrees_with_the_slow_twin(shape, steps):
    steep = np.random.default_rng(3).random(shape).astype(np.float32)
    got = descend_steepness(steep, 0.2, steps)
    np.testing.assert_array_equal(got, slow(steep, 0.2, steps))


def test_a_soft_edge_is_halved():
    """Blur makes a slope that is steepest in its middle: each half walks to its own side."""
    profile = 1.0 / (1.0 + np.exp(-(np.arange(21) - 10.2) / 1.5))
    steep = np.abs(np.gradient(profile)).astype(np.float32)[None]
    ends = descend_steepness(steep, 0.001, 12)[0]
    settled = profile[ends] > 0.5
    np.testing.assert_array_equal(settled, np.arange(21) > 10.2)
