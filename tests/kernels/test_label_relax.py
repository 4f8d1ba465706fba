"""Nearest colours and relaxation against whole-array and pixel-by-pixel twins."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from firstpiece.kernels.label_relax import nearest_color, relax_labels

LABS = arrays(np.float32, (5, 6, 3), elements=st.integers(-20, 60).map(float))
PALETTES = arrays(np.float32, (3, 3), elements=st.integers(-20, 60).map(float))
LABELS = arrays(np.int32, (5, 6), elements=st.integers(0, 2))


def energy(lab, palette, labels, stiffness):
    """The sum the sweeps lower, over all pixels and each pair of neighbours once."""
    fit = ((lab.astype(float) - palette[labels].astype(float)) ** 2).sum()
    across = (labels[:, 1:] != labels[:, :-1]).sum() + (labels[1:] != labels[:-1]).sum()
    slant = (labels[1:, 1:] != labels[:-1, :-1]).sum() + (labels[1:, :-1] != labels[:-1, 1:]).sum()
    return fit + stiffness * (across + slant / np.sqrt(2.0))


def relax_slowly(lab, palette, labels, stiffness, rounds):
    """The twin: for each pixel in reading order, the best of its own and its neighbours' labels."""
    out = labels.copy()
    height, width = out.shape
    for _ in range(rounds):
        before = out.copy()
        for y in range(height):
            for x in range(width):
                near = [
                    (out[j, i], 1.0 if i == x or j == y else 1.0 / np.sqrt(2.0))
                    for j in range(max(0, y - 1), min(height, y + 2))
                    for i in range(max(0, x - 1), min(width, x + 2))
                    if (i, j) != (x, y)
                ]

                def cost(k, y=y, x=x, near=near):
                    fit = ((lab[y, x].astype(float) - palette[k].astype(float)) ** 2).sum()
                    return fit + stiffness * sum(w for other, w in near if other != k)

                for k in [label for label, _ in near]:
                    if cost(k) < cost(out[y, x]) - 1e-9:
                        out[y, x] = k
        if (out == before).all():
            break
    return out


@given(LABS, PALETTES)
def test_nearest_color_matches_the_twin(lab, palette):
    distance = ((lab[:, :, None].astype(float) - palette.astype(float)) ** 2).sum(axis=3)
    assert (nearest_color(lab, palette) == distance.argmin(axis=2)).all()


@given(LABS, PALETTES, LABELS, st.sampled_from([0.0, 30.0, 500.0]))
def test_relaxing_lowers_the_energy(lab, palette, labels, stiffness):
    relaxed = relax_labels(lab, palette, labels, stiffness, 5)
    before = energy(lab, palette, labels, stiffness)
    assert energy(lab, palette, relaxed, stiffness) <= before + 1e-6 * before + 1e-6


@given(LABS, PALETTES, LABELS)
def test_relaxing_matches_the_twin(lab, palette, labels):
    # A stiffness that no sum of whole squares can tie with.
    stiffness = 31.4159
    ours = relax_labels(lab, palette, labels, stiffness, 4)
    assert (ours == relax_slowly(lab, palette, labels, stiffness, 4)).all()


def test_a_lone_speck_of_noise_goes():
    palette = np.array([[0, 0, 0], [50, 0, 0]], dtype=np.float32)
    lab = np.zeros((9, 9, 3), dtype=np.float32)
    lab[4, 4, 0] = 30.0
    labels = nearest_color(lab, palette)
    assert labels.sum() == 1
    assert relax_labels(lab, palette, labels, 200.0, 4).sum() == 0


def test_empty_pictures():
    palette = np.zeros((1, 3), dtype=np.float32)
    lab = np.zeros((0, 5, 3), dtype=np.float32)
    labels = nearest_color(lab, palette)
    assert labels.shape == (0, 5)
    assert relax_labels(lab, palette, labels, 1.0, 3).shape == (0, 5)
