"""The widest spacing at which the cloth stays unseen, for one thread on one cloth with one needle.

Input: thread card and colour, cloth colour, needle, tolerance. Output: a spacing with what the eye
sees at it, or none when no spacing that the needle bears is close enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.forecasting.laid_thread import thread_section
from firstpiece.forecasting.seen_cover import FAR_MM, NEAR_MM, area_colors, view_cover
from firstpiece.forecasting.show_through import SewnTexture, linear_rgb, show_through
from firstpiece.kernels.coverage import Grid
from firstpiece.model.stitch import StitchType
from firstpiece.units import thread_diameter_mm

if TYPE_CHECKING:
    from firstpiece.forecasting.laid_thread import ThreadSection
    from firstpiece.model.forecast import SeenFrom
    from firstpiece.model.material import RGB, Needle, Thread

# Rows set closer than this share of the thread's width only pile up.
CLOSEST_SHARE = 0.6
# An eye is about 0.4 of the blade wide and wants 1.4 times the thread (common practice, no source).
EYE_SHARE, EYE_ROOM = 0.4, 1.4
# The share of the blade's width that stays open in the cloth (guess): on one edge of a satin
# column holes nearer than that make a slot.
OPEN_SHARE = 0.45
STEP_MM, WIDEST_MM = 0.01, 1.5
TILE_MM, TILE_PIXEL_MM = 8.0, 0.05


@dataclass(frozen=True, slots=True)
class SpacingChoice:
    """What a spacing search found.

    Parameters
    ----------
    spacing_mm : float or None [mm]
        Row spacing of a fill, column spacing of a satin; None when none in reach passes.
    difference : float
        CIEDE2000 of the mean colour at it (at the closest spacing when none passes).
    views : tuple of SeenFrom
        The same from reading distance and from a metre, specks included.
    closest_mm : float [mm]
        The closest spacing the needle and the thread bear.
    needle_fits : bool
        Whether the thread passes the needle's eye with room.
    """

    spacing_mm: float | None
    difference: float
    views: tuple[SeenFrom, ...]
    closest_mm: float
    needle_fits: bool


def even_rows(row_mm: float, section: ThreadSection) -> SewnTexture:
    """Return the texture of straight even rows, one pass per ``row_mm``."""
    layers = section.width_mm / row_mm
    whole = int(layers)
    shares = [0.0] * (whole + 2)
    shares[whole], shares[whole + 1] = whole + 1 - layers, layers - whole
    gap = max(row_mm - section.width_mm, 0.01)
    return SewnTexture(tuple(shares), gap, section.height_mm, section.layer_mass)


def closest_spacing_mm(section: ThreadSection, needle: Needle, stitch_type: StitchType) -> float:
    """Return the closest spacing [mm] that neither piles up thread nor cuts the cloth in a slot.

    A fill's holes lie along its rows, far apart; a satin's lie one spacing apart along each edge.
    """
    if stitch_type is StitchType.SATIN:
        return max(2.0 * CLOSEST_SHARE * section.width_mm, OPEN_SHARE * needle.blade_mm)
    return CLOSEST_SHARE * section.width_mm


def solve_spacing(
    thread: Thread,
    thread_rgb: RGB,
    cloth_rgb: RGB,
    *,
    needle: Needle,
    tolerance: float,
    stitch_type: StitchType = StitchType.FILL,
) -> SpacingChoice:
    """Return the widest spacing whose mean colour differs by no more than a tolerance.

    Parameters
    ----------
    thread : Thread
    thread_rgb, cloth_rgb : tuple of int
    needle : Needle
    tolerance : float
        CIEDE2000 between the sewn area on this cloth and on thread-coloured cloth.
    stitch_type : StitchType
        FILL gives a row spacing, SATIN a column spacing (two passes in each).

    Raises
    ------
    ValueError
        When the tolerance is not above 0.

    Notes
    -----
    Even rows without underlay at the thread card's middle values. The difference rises with the
    spacing up to small steps where a layer begins, so spacings are tried from the widest down in
    hundredths of a millimetre. The card's laid width and scatter are guesses until a swatch is
    measured, and so is the answer.
    """
    if not tolerance > 0.0:
        msg = "a tolerance must be above 0"
        raise ValueError(msg)
    section = thread_section(thread, thread.tex.value, thread.flattening.value)
    scatter = thread.scatter.value
    passes = 2.0 if stitch_type is StitchType.SATIN else 1.0
    closest = closest_spacing_mm(section, needle, stitch_type)
    hundredths = int(WIDEST_MM / STEP_MM)
    found = None
    while found is None and hundredths * STEP_MM >= closest:
        texture = even_rows(hundredths * STEP_MM / passes, section)
        if show_through(thread_rgb, cloth_rgb, texture, scatter) <= tolerance:
            found = hundredths * STEP_MM
        hundredths -= 1
    row = (found or closest) / passes
    texture = even_rows(row, section)
    diameter = thread_diameter_mm(thread.tex.value, thread.density.value, thread.packing.value)
    return SpacingChoice(
        spacing_mm=None if found is None else round(found, 2),
        difference=show_through(thread_rgb, cloth_rgb, texture, scatter),
        views=view_rows(thread_rgb, cloth_rgb, row, section, scatter),
        closest_mm=closest,
        needle_fits=EYE_ROOM * diameter <= EYE_SHARE * needle.blade_mm,
    )


def view_rows(
    thread_rgb: RGB, cloth_rgb: RGB, row_mm: float, section: ThreadSection, scatter: float
) -> tuple[SeenFrom, ...]:
    """Return how even rows look from 0.4 m and from 1 m, away from the area's edges."""
    n_pixels = int(TILE_MM / TILE_PIXEL_MM)
    grid = Grid(0.0, TILE_MM, TILE_PIXEL_MM, n_pixels, n_pixels)
    y = (np.arange(n_pixels) + 0.5) * TILE_PIXEL_MM
    reach = int(np.ceil(section.width_mm / row_mm))
    offset = y % row_mm
    ribbons = (np.arange(-reach, reach + 1) + 0.5) * row_mm
    layers = (np.abs(offset[:, None] - ribbons) <= section.width_mm / 2).sum(axis=1)
    rows = np.ascontiguousarray(np.broadcast_to(layers[:, None], (n_pixels, n_pixels)), np.uint16)
    labels = np.zeros((n_pixels, n_pixels), dtype=np.int32)
    thread, cloth = linear_rgb(thread_rgb), linear_rgb(cloth_rgb)
    colors = area_colors(thread, cloth, even_rows(row_mm, section), scatter)
    views: tuple[SeenFrom, ...] = view_cover(labels, rows, [colors], cloth, grid).areas[0]
    assert [view.distance_mm for view in views] == [NEAR_MM, FAR_MM]
    return views
