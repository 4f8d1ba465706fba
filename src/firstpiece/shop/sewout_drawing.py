"""The sew-out drawn as it is forecast: settled stitches, cloth coming through, pucker when asked.

Input: a prepared job. Output: pixels and the window they show. Pucker is an illustration of a
ranking and says so under the picture.
"""

from __future__ import annotations

from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.files.picture_caption import add_caption
from firstpiece.forecasting.seen_thread import seen_colors
from firstpiece.paperwork.pucker_shading import shade_pucker
from firstpiece.paperwork.sewout_picture import draw_sewout

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan
    from firstpiece.shop.prepare import Prepared

    WindowMm = tuple[float, float, float, float]

PICTURE_PX = 1800
"""Longer side of the pictures: fills a large screen, goes through a message."""

FINEST_PX_PER_MM = 20.0
MARGIN_MM = 8.0


def as_sewn(prepared: Prepared) -> StitchPlan:
    """Return the plan with its stitches where they come to lie once the cloth has drawn in."""
    settled = prepared.forecast.settled_mm
    return prepared.plan if settled is None else replace(prepared.plan, xy_mm=settled)


def picture_zoom(size_mm: tuple[float, float]) -> float:
    """Return pixels per mm that make a picture of the design, margin included, fit its limit."""
    return min(FINEST_PX_PER_MM, PICTURE_PX / (max(size_mm) + 2 * MARGIN_MM))


def draw_forecast(
    prepared: Prepared, *, pixels_per_mm: float | None = None
) -> tuple[NDArray[np.uint8], WindowMm]:
    """Return the sew-out as it is forecast, and the window it shows.

    Parameters
    ----------
    prepared : Prepared
    pixels_per_mm : float or None [1/mm]
        None makes the longer side as long as suits a screen.

    Notes
    -----
    The window is that of the painted box with a margin, so that sewn and cleaned picture lie
    exactly on each other.
    """
    zoom = pixels_per_mm or picture_zoom(prepared.size_mm)
    width, height = (v + 2 * MARGIN_MM for v in prepared.size_mm)
    window = (-width / 2, -height / 2, width, height)
    pixels = draw_sewout(
        as_sewn(prepared),
        setup=prepared.setup,
        pixels_per_mm=zoom,
        window_mm=window,
        linear_rgb=seen_colors(prepared.plan, prepared.forecast.layers, prepared.setup),
    )
    return pixels, window


def draw_with_pucker(
    prepared: Prepared, *, pixels_per_mm: float | None = None
) -> NDArray[np.uint8]:
    """Return the sew-out with pucker shaded in round the areas that draw hardest, and told so."""
    pixels, window = draw_forecast(prepared, pixels_per_mm=pixels_per_mm)
    ranks = {r.region_id: r.contraction.band.p50 for r in prepared.forecast.pucker}
    shapes = {a.region_id: a.outline for a in prepared.forecast.settled_areas}
    # A small area draws little cloth however hard it draws.
    force = {i: ranks[i] * shape.area**0.5 for i, shape in shapes.items() if i in ranks}
    most = max(force.values(), default=0.0)
    areas = [(shapes[i], value / most) for i, value in sorted(force.items()) if most > 0]
    words = _(
        "Illustration: where this piece is likeliest to pucker once it is off the hoop. How many "
        "waves there will be and how high is not known without a sewn swatch."
    )
    return add_caption(shade_pucker(pixels, window, areas), words)
