"""Which light areas are the paper the art was drawn on, and so stay bare cloth.

Input: a label map. Output: the map with bare pixels. Paper reaches the picture's edge. Paper seen
through the art (the counter of a letter, the gap between rungs) looks just like white paint; four
cues from what surrounds it decide, and the person can overrule them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import find_objects

from firstpiece.model.region import BARE
from firstpiece.tracing.components import contacts, half_widths, label_components

if TYPE_CHECKING:
    from numpy.typing import NDArray

PAPER_LIGHTNESS = 80.0
PAPER_CHROMA = 18.0

LEAST_SIDES = 3
"""An enclosed light area between this many colours is what was behind all of them."""

ALIKE_SIDES_LAB = 35.0
"""Sides this close are one: thin dark lines fade to several greys in a rough picture."""

SIDE_SHARE = 0.08
GLYPH_SHARE = 0.3
"""A free-standing shape no larger than this share of the art may be a letter."""

LINE_SHARE = 0.05
"""A surround narrower than this share of the art's larger side is drawn as lines."""

INK_LIGHTNESS = 40.0
INK_CHROMA = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class _Areas:
    """Connected areas of a label map and what was measured of them."""

    parts: NDArray[np.int32]
    label_of: NDArray[np.int32]
    contact: dict[int, dict[int, int]]
    boxes: NDArray[np.int64]
    widths: NDArray[np.float64]


def is_paper(palette: NDArray[np.float32] | NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which colours are as light and grey as paper.

    Parameters
    ----------
    palette : (k, 3) float32 or float64
        CIELAB.

    Returns
    -------
    (k,) bool
    """
    chroma = np.hypot(palette[:, 1], palette[:, 2])
    mask: NDArray[np.bool_] = (palette[:, 0] >= PAPER_LIGHTNESS) & (chroma <= PAPER_CHROMA)
    return mask


def bare_paper(
    labels: NDArray[np.int32], palette: NDArray[np.float32]
) -> tuple[NDArray[np.int32], int]:
    """Return the map with the paper bare.

    Parameters
    ----------
    labels : (h, w) int32
        Palette index; nothing is bare yet.
    palette : (k, 3) float32
        CIELAB.

    Returns
    -------
    labels : (h, w) int32
    n_kept : int
        Enclosed areas of the paper's colour that were kept as paint.
    """
    edge = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    reaching = np.unique(edge)
    paper_labels = reaching[is_paper(palette)[reaching]]
    if not len(paper_labels):
        return labels, 0
    areas = _measure(labels)
    looks_paper = np.isin(areas.label_of, paper_labels)
    parts = areas.parts
    touches_edge = np.zeros(len(areas.label_of), dtype=bool)
    touches_edge[np.concatenate([parts[0], parts[-1], parts[:, 0], parts[:, -1]])] = True
    outer = looks_paper & touches_edge
    bare = outer.copy()
    enclosed = np.flatnonzero(looks_paper & ~touches_edge)
    for area in enclosed.tolist():
        bare[area] = _is_gap(areas, palette, area, outer)
    out = labels.copy()
    out[bare[parts]] = BARE
    return out, len(enclosed) - int(bare[enclosed].sum())


def _measure(labels: NDArray[np.int32]) -> _Areas:
    parts, label_of = label_components(labels)
    area, other, sides = contacts(parts)
    contact: dict[int, dict[int, int]] = {}
    for a, b, n in zip(area.tolist(), other.tolist(), sides.tolist(), strict=True):
        contact.setdefault(a, {})[b] = n
    slices = find_objects(parts + 1)
    boxes = np.array([(r.start, c.start, r.stop, c.stop) for r, c in slices], dtype=np.int64)
    return _Areas(parts, label_of, contact, boxes, half_widths(labels, parts) * 2.0)


def _is_gap(
    areas: _Areas, palette: NDArray[np.float32], area: int, outer: NDArray[np.bool_]
) -> bool:
    """Whether paper is seen through the art here, by what surrounds the area."""
    around = areas.contact.get(area, {})
    total = max(sum(around.values()), 1)
    sides: dict[int, int] = {}
    for other, n in around.items():
        label = _first_alike(palette, int(areas.label_of[other]))
        sides[label] = sides.get(label, 0) + n
    if sum(n >= SIDE_SHARE * total for n in sides.values()) >= LEAST_SIDES:
        return True
    main = max(around, key=lambda other: (around[other], -other))
    painted = np.flatnonzero(~outer)
    art = np.ptp(np.vstack([areas.boxes[painted, :2], areas.boxes[painted, 2:]]), axis=0)
    size = areas.boxes[main, 2:] - areas.boxes[main, :2]
    is_free = all(outer[o] or _is_inside(areas, o, main) for o in areas.contact[main])
    if is_free and size.max() <= GLYPH_SHARE * art.max():
        return True
    lightness, a, b = palette[areas.label_of[main]].tolist()
    is_ink = lightness < INK_LIGHTNESS and float(np.hypot(a, b)) < INK_CHROMA
    return not is_ink and bool(areas.widths[main] < LINE_SHARE * art.max())


def _first_alike(palette: NDArray[np.float32], label: int) -> int:
    """Return the first colour of the palette that a rough picture may have meant by this one."""
    off = np.sqrt(((palette[: label + 1] - palette[label]) ** 2).sum(axis=1))
    return int(np.flatnonzero(off <= ALIKE_SIDES_LAB)[0])


def _is_inside(areas: _Areas, area: int, main: int) -> bool:
    """Whether an area touches nothing but the one it lies in."""
    return set(areas.contact[area]) == {main}
