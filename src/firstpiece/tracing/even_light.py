"""Uneven light taken out of a photographed drawing: paper becomes even and white.

Input: 8-bit colours. Output: the same as if evenly lit, and by how much the light varied. Light
multiplies: its logarithm is fitted by a polynomial, first to the paper, then to every flat colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.kernels.label_relax import nearest_color
from firstpiece.tracing.palette import find_palette

if TYPE_CHECKING:
    from numpy.typing import NDArray

SMALL_SIDE_PX = 256
PAPER_DEGREE, FINAL_DEGREE = 3, 5
LEAST_PAPER_SHARE = 0.08
PAPER_LIGHTNESS, PAPER_CHROMA = 45.0, 30.0
STEEPEST = 2.0
"""CIELAB per pixel of the small copy: light changes slower, edges of paint faster."""

UNEVEN = 0.05
"""Paper whose codes vary by less than this share is taken as it is."""

WHITE_CODE = 254.0
ROUNDS = 3
DARKEST_CODE = 24
LEAST_PIXELS = 30
NEAR_LEVEL = 0.25


def even_light(rgb: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """Return the picture evenly lit, and by what share the light on the paper varied.

    Parameters
    ----------
    rgb : (h, w, 3) uint8
        sRGB.

    Returns
    -------
    rgb : (h, w, 3) uint8
        Unchanged when the paper is even, or no paper reaches the picture's edge.
    unevenness : float
        0 when nothing was changed.

    References
    ----------
    After Ahmed et al. 2002, A modified fuzzy c-means algorithm for bias field estimation, IEEE
    Transactions on Medical Imaging 21, 193–199: field and classes are estimated in turn.
    """
    small = _small_copy(rgb)
    paper = _paper(small)
    if paper is None:
        return rgb, 0.0
    codes: NDArray[np.float64] = np.log(np.maximum(small.astype(np.float64), 4.0))
    paper_basis = _basis(small.shape[:2], PAPER_DEGREE)
    weights = _fit(paper_basis[paper], codes[paper])
    field: NDArray[np.float64] = paper_basis @ weights
    on_paper = field[paper].mean(axis=1)
    unevenness = 1.0 - float(np.exp(np.percentile(on_paper, 1) - np.percentile(on_paper, 99)))
    if unevenness < UNEVEN:
        return rgb, 0.0
    basis = _basis(small.shape[:2], FINAL_DEGREE)
    steep = _steepness(small)
    for _ in range(ROUNDS):
        field = _refit(small, codes, field, basis, paper, steep < 2.0 * STEEPEST)
    gain = np.log(WHITE_CODE) - field
    size = (rgb.shape[1], rgb.shape[0])
    # The field is smooth: growing it linearly from the small copy is exact enough.
    grown = cv2.resize(np.exp(gain).astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    lit = np.clip(rgb.astype(np.float32) * grown, 0.0, 255.0)
    return np.rint(lit).astype(np.uint8), unevenness


def _small_copy(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    scale = min(1.0, SMALL_SIDE_PX / max(rgb.shape[:2]))
    size = (max(8, round(rgb.shape[1] * scale)), max(8, round(rgb.shape[0] * scale)))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _lab(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    return np.asarray(lab, dtype=np.float32)


def _steepness(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    lab = cv2.GaussianBlur(_lab(small), (0, 0), 1.0)
    dx = cv2.Sobel(lab, cv2.CV_32F, 1, 0) / 8.0
    dy = cv2.Sobel(lab, cv2.CV_32F, 0, 1) / 8.0
    return np.asarray(np.sqrt((dx * dx + dy * dy).sum(axis=2)), dtype=np.float32)


def _paper(small: NDArray[np.uint8]) -> NDArray[np.bool_] | None:
    """Return the smooth bright area that reaches furthest along the picture's edge, if any."""
    lab = _lab(small)
    smooth = (_steepness(small) < STEEPEST) & (lab[:, :, 0] >= PAPER_LIGHTNESS)
    smooth &= np.hypot(lab[:, :, 1], lab[:, :, 2]) <= PAPER_CHROMA
    _n, parts = cv2.connectedComponents(smooth.astype(np.uint8), connectivity=4)
    rim = np.concatenate([parts[1], parts[-2], parts[:, 1], parts[:, -2]])
    counts = np.bincount(rim[rim > 0], minlength=2)
    paper: NDArray[np.bool_] = parts == int(counts.argmax())
    enough = counts.max() >= 0.25 * len(rim) and paper.mean() >= LEAST_PAPER_SHARE
    return paper if enough else None


def _basis(shape: tuple[int, ...], degree: int) -> NDArray[np.float64]:
    """Products of Legendre polynomials of x and y up to a total degree: (h, w, terms)."""
    x = np.polynomial.legendre.legvander(np.linspace(-1.0, 1.0, shape[1]), degree)
    y = np.polynomial.legendre.legvander(np.linspace(-1.0, 1.0, shape[0]), degree)
    terms = [
        y[:, None, i] * x[None, :, j] for i in range(degree + 1) for j in range(degree + 1 - i)
    ]
    return np.stack(terms, axis=2)


def _fit(basis: NDArray[np.float64], codes: NDArray[np.float64]) -> NDArray[np.floating]:
    """Least squares twice, the second time without what lies far off the first."""
    keep = np.ones(len(basis), dtype=bool)
    weights: NDArray[np.floating] = np.zeros((basis.shape[1], codes.shape[1]))
    for _ in range(2):
        inside = basis[keep]
        gram = inside.T @ inside + 1e-6 * len(inside) * np.eye(basis.shape[1])
        weights = np.linalg.solve(gram, inside.T @ codes[keep])
        off = np.abs(codes - basis @ weights).max(axis=1)
        keep = off <= max(3.0 * float(np.median(off)), 0.01)
    return weights


def _refit(
    small: NDArray[np.uint8],
    codes: NDArray[np.float64],
    field: NDArray[np.float64],
    basis: NDArray[np.float64],
    paper: NDArray[np.bool_],
    flat: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Return the field fitted to all flat pixels, each colour at a level of its own."""
    lit = np.exp(codes - field + np.log(WHITE_CODE))
    lab = _lab(np.clip(np.rint(lit), 0, 255).astype(np.uint8))
    votes = np.ones(int(flat.sum()), dtype=np.float32)
    palette = find_palette(lab[flat], votes, least_difference=7.0, grain=1.5)
    labels = nearest_color(lab, palette)
    labels[paper] = len(palette)
    # Dark paint tells little of the light: a code more or less is a large share of it.
    usable = flat & (small.min(axis=2) >= DARKEST_CODE)
    off = codes - field
    terms, levels = [basis[usable & paper]], [codes[usable & paper]]
    for k in range(len(palette)):
        own = usable & (labels == k)
        if own.sum() < LEAST_PIXELS:
            continue
        own &= np.abs(off - np.median(off[own], axis=0)).max(axis=2) < NEAR_LEVEL
        # Only how a colour varies counts, not its level; the paper fixes the level.
        terms.append(basis[own] - basis[own].mean(axis=0))
        levels.append(codes[own] - codes[own].mean(axis=0))
    weights = _fit(np.concatenate(terms), np.concatenate(levels))
    out: NDArray[np.float64] = basis @ weights
    return out
