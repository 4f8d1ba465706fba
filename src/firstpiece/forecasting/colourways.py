"""Which thread colours will read on a garment: contrast with the cloth and between neighbours.

Input: thread colours, the garment's colour, the cleaned design. Output: plain tables, no opinion on
beauty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from firstpiece.forecasting.show_through import XYZ_OF_LINEAR, color_difference, linear_rgb

if TYPE_CHECKING:
    from collections.abc import Iterable

    from firstpiece.model.material import RGB, ThreadColor
    from firstpiece.model.region import RegionMap

# W3C, Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and 1.4.11: small text
# against its ground, and large text or shapes.
SMALL_TEXT, LARGE_TEXT = 4.5, 3.0
# Areas that share less than this are said to touch at a corner [mm].
SHARED_EDGE_MM = 0.5


@dataclass(frozen=True, slots=True)
class ColorReading:
    """How one thread reads on one ground.

    ``difference`` is their CIEDE2000; ``contrast`` the ratio of luminances (lighter + 0.05) over
    (darker + 0.05), from 1 to 21, which decides whether letters can be read.
    """

    thread: ThreadColor
    difference: float
    contrast: float

    @property
    def reads_small(self) -> bool:
        """Whether small letters in this thread can be read."""
        return self.contrast >= SMALL_TEXT

    @property
    def reads_large(self) -> bool:
        """Whether large letters and shapes in this thread can be read."""
        return self.contrast >= LARGE_TEXT


@dataclass(frozen=True, slots=True)
class NeighbourContrast:
    """Two areas that touch: their ids, the length of their common edge [mm] and their contrast."""

    first_id: int
    second_id: int
    shared_mm: float
    difference: float
    contrast: float


def luminance_contrast(first: RGB, second: RGB) -> float:
    """Return the contrast ratio of two sRGB colours, 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, definition of contrast ratio.
    """
    weights = XYZ_OF_LINEAR[1]
    bright = sorted(float(weights @ _exact_linear(rgb)) for rgb in (first, second))
    return (bright[1] + 0.05) / (bright[0] + 0.05)


def read_threads(threads: Iterable[ThreadColor], cloth_rgb: RGB) -> tuple[ColorReading, ...]:
    """Return how each thread reads on the cloth, the clearest first.

    Parameters
    ----------
    threads : iterable of ThreadColor
    cloth_rgb : tuple of int
    """
    ground = linear_rgb(cloth_rgb)
    readings = [
        ColorReading(
            thread,
            color_difference(linear_rgb(thread.rgb), ground),
            luminance_contrast(thread.rgb, cloth_rgb),
        )
        for thread in threads
    ]
    return tuple(sorted(readings, key=lambda r: (-r.contrast, -r.difference, r.thread.name)))


def neighbour_contrasts(region_map: RegionMap, cloth_rgb: RGB) -> tuple[NeighbourContrast, ...]:
    """Return every pair of touching areas, least contrast first; bare areas count as cloth."""
    shapes = [region.polygon for region in region_map.regions]
    tree = shapely.STRtree(shapes)
    pairs = tree.query(shapes, predicate="intersects").T
    found = []
    for i, j in sorted((int(a), int(b)) for a, b in pairs if a < b):
        shared = float(shapely.intersection(shapes[i].boundary, shapes[j].boundary).length)
        if shared < SHARED_EDGE_MM:
            continue
        one, other = (
            cloth_rgb if region.is_bare else region_map.thread_of(region).rgb
            for region in (region_map.regions[i], region_map.regions[j])
        )
        found.append(
            NeighbourContrast(
                region_map.regions[i].id,
                region_map.regions[j].id,
                shared,
                color_difference(linear_rgb(one), linear_rgb(other)),
                luminance_contrast(one, other),
            )
        )
    return tuple(sorted(found, key=lambda n: (n.difference, n.first_id, n.second_id)))


def _exact_linear(rgb: RGB) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    code = np.asarray(rgb, dtype=np.float64) / 255.0
    linear: np.ndarray[tuple[int], np.dtype[np.float64]] = np.where(
        code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4
    )
    return linear
