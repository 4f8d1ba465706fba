"""The sew-out picture: the plan's stitches drawn as thread on the garment's cloth.

In: a stitch plan, the set-up it is sewn on, a zoom. Out: sRGB pixels worth showing a customer, at
any zoom and in any window; the same plan always gives the same pixels.
"""

from __future__ import annotations

import math
from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.errors import InputError
from firstpiece.kernels.cloth_texture import FLEECE, KNIT, PLAIN, TERRY, TWILL
from firstpiece.kernels.relief_light import Ground, mean_cloth_light
from firstpiece.kernels.thread_laying import Laid, rest_heights
from firstpiece.kernels.thread_light import Canvas, draw_thread_light
from firstpiece.model.material import Weave

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Fabric, Setup
    from firstpiece.model.stitch import StitchPlan

WindowMm = tuple[float, float, float, float]

MOST_PIXELS = 80_000_000
# Fewest samples per mm: eight across a 0.40 mm thread, enough for its round shading to be true.
SAMPLES_PER_MM = 20.0
REST_CELL_MM = 0.1
PATCH_MM = 9.0

_WEAVES = {
    Weave.KNIT: (KNIT, 0.15),
    Weave.TWILL: (TWILL, 0.085),
    Weave.PLAIN: (PLAIN, 0.14),
    Weave.TERRY: (TERRY, 0.32),
    Weave.FLEECE: (FLEECE, 0.26),
}
# Weight of cloth [g/m²] for which the yarn sizes of the texture hold.
_USUAL_WEIGHT = {
    Weave.KNIT: 180.0,
    Weave.TWILL: 240.0,
    Weave.PLAIN: 340.0,
    Weave.TERRY: 420.0,
    Weave.FLEECE: 280.0,
}


def draw_sewout(  # noqa: PLR0913 - each is one thing a picture is asked for
    plan: StitchPlan,
    *,
    setup: Setup,
    pixels_per_mm: float,
    margin_mm: float = 8.0,
    window_mm: WindowMm | None = None,
    samples_per_mm: float = SAMPLES_PER_MM,
    linear_rgb: NDArray[np.float64] | None = None,
) -> NDArray[np.uint8]:
    """Return the plan as it will look when sewn.

    Parameters
    ----------
    plan : StitchPlan
    setup : Setup
        Gives thread width, cloth, its colour and the needle.
    pixels_per_mm : float [1/mm]
        2 to 40 is what the picture is made for.
    margin_mm : float [mm]
        Cloth shown round the box of all penetrations.
    window_mm : tuple of float or None [mm]
        (left, bottom, width, height) to draw instead of the whole design.
    samples_per_mm : float [1/mm]
        Fewest samples; fewer draw faster and shade a thread more coarsely.
    linear_rgb : (n, 3) float64 or None
        Colour of the thread that ends at each row of the plan, in linear light; None draws the
        thread's own, as if no cloth came through it.

    Returns
    -------
    (h, w, 3) uint8 [sRGB]
        Row 0 is the top.

    Raises
    ------
    InputError
        When the zoom is not positive or the picture would be larger than ``MOST_PIXELS``.
    """
    window = window_mm or plan_window_mm(plan, margin_mm=margin_mm)
    canvas = _canvas(window, pixels_per_mm, samples_per_mm)
    rows = _drawn_rows(plan)
    ends = np.concatenate([plan.xy_mm[rows - 1], plan.xy_mm[rows]], axis=1)
    laid, seeds = _lay_thread(ends, rows, 0.5 * setup.thread.laid_width_mm)
    near = _touching(laid.ends_mm, window)
    laid = Laid(*(np.ascontiguousarray(column[near]) for column in laid))
    paint = np.ascontiguousarray(_paint(plan, linear_rgb)[rows][near])
    ground = _ground(setup, canvas.pixel_mm / canvas.n_sub)
    pixels: NDArray[np.uint8] = draw_thread_light(laid, paint, seeds[near], ground, canvas)
    return pixels


def _paint(plan: StitchPlan, linear_rgb: NDArray[np.float64] | None) -> NDArray[np.float64]:
    """Return (n, 3) the colour of each row's thread in linear light."""
    if linear_rgb is not None:
        return linear_rgb
    colors = _linear(np.array([t.rgb for t in plan.threads], dtype=np.float64).reshape(-1, 3))
    return colors[plan.thread] if len(colors) else np.zeros((len(plan.thread), 3))


def plan_window_mm(plan: StitchPlan, *, margin_mm: float) -> WindowMm:
    """Return (left, bottom, width, height) of all penetrations with a margin [mm]."""
    points = plan.xy_mm[plan.is_stitch]
    if not len(points):
        return (-margin_mm, -margin_mm, 2 * margin_mm, 2 * margin_mm)
    left, bottom = points.min(axis=0) - margin_mm
    right, top = points.max(axis=0) + margin_mm
    return (float(left), float(bottom), float(right - left), float(top - bottom))


def _canvas(window: WindowMm, pixels_per_mm: float, samples_per_mm: float) -> Canvas:
    left, bottom, width, height = window
    if not (math.isfinite(pixels_per_mm) and pixels_per_mm > 0 and width > 0 and height > 0):
        msg = _("a picture needs a zoom and a window larger than nothing")
        raise InputError(msg, remedy=_("give pixels per millimetre above 0"))
    n_rows = max(1, round(height * pixels_per_mm))
    n_cols = max(1, round(width * pixels_per_mm))
    if n_rows * n_cols > MOST_PIXELS:
        msg = _("a picture of {w} × {h} pixels is too large").format(w=n_cols, h=n_rows)
        raise InputError(msg, remedy=_("draw a smaller window or fewer pixels per millimetre"))
    n_sub = min(10, max(2, math.ceil(samples_per_mm / pixels_per_mm)))
    return Canvas(left, bottom + height, 1.0 / pixels_per_mm, n_rows, n_cols, n_sub)


def _drawn_rows(plan: StitchPlan) -> NDArray[np.int64]:
    """Return the rows whose thread is long enough to be seen."""
    rows = plan.sewn_segments()
    lengths = np.hypot(*(plan.xy_mm[rows] - plan.xy_mm[rows - 1]).T)
    visible: NDArray[np.int64] = rows[lengths > 0.02]
    return visible


def _lay_thread(
    ends: NDArray[np.float64], rows: NDArray[np.int64], half_mm: float
) -> tuple[Laid, NDArray[np.int64]]:
    """Return the laid pieces, each a little unlike its neighbours as real stitches are."""
    seeds = rows.astype(np.int64)
    vary = _unit_hash(seeds, 1) - 0.5
    half = half_mm * (1.02 + 0.07 * vary)
    length = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    arch = _arches(ends, rows, length) * (0.85 + 0.3 * _unit_hash(seeds, 2))
    sway = 0.05 * half_mm * (_unit_hash(seeds, 3) - 0.5)
    normal = np.stack([ends[:, 1] - ends[:, 3], ends[:, 2] - ends[:, 0]], axis=1)
    normal /= np.maximum(length, 1e-9)[:, None]
    moved = ends + np.concatenate([normal, normal], axis=1) * sway[:, None]
    left, bottom = ends.reshape(-1, 2).min(axis=0) if len(ends) else np.zeros(2)
    right, top = ends.reshape(-1, 2).max(axis=0) if len(ends) else np.zeros(2)
    shape = (int((top - bottom) / REST_CELL_MM) + 2, int((right - left) / REST_CELL_MM) + 2)
    rest = rest_heights(moved, half, left, bottom, REST_CELL_MM, np.zeros(shape))
    return Laid(moved, half, arch, rest), seeds


def _arches(
    ends: NDArray[np.float64], rows: NDArray[np.int64], length: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how high the middle of each piece stands over its ends [mm].

    A stitch that turns back at both ends (a satin column) bridges freely; one that runs straight
    on (a fill row, a line) is drawn flat.
    """
    along = (ends[:, 2:] - ends[:, :2]) / np.maximum(length, 1e-9)[:, None]
    turn = np.zeros(len(ends) + 1)
    joined = np.diff(rows) == 1
    turn[1:-1][joined] = 0.5 - 0.5 * np.sum(along[1:] * along[:-1], axis=1)[joined]
    bridging = np.minimum(turn[:-1], turn[1:])
    return np.minimum((0.022 + 0.075 * bridging) * length, 0.5)


def _unit_hash(seeds: NDArray[np.int64], salt: int) -> NDArray[np.float64]:
    """Return numbers in [0, 1) that depend on the seeds alone."""
    mixed = (seeds.astype(np.uint64) + np.uint64(salt)) * np.uint64(0x9E3779B97F4A7C15)
    mixed ^= mixed >> np.uint64(29)
    mixed *= np.uint64(0xBF58476D1CE4E5B9)
    mixed ^= mixed >> np.uint64(32)
    return (mixed >> np.uint64(11)).astype(np.float64) / float(1 << 53)


def _touching(ends: NDArray[np.float64], window: WindowMm) -> NDArray[np.int64]:
    """Return the pieces that can be seen or cast a shadow in the window."""
    left, bottom, width, height = window
    pad = 1.2
    low = np.minimum(ends[:, :2], ends[:, 2:])
    high = np.maximum(ends[:, :2], ends[:, 2:])
    seen = (high[:, 0] > left - pad) & (low[:, 0] < left + width + pad)
    seen &= (high[:, 1] > bottom - pad) & (low[:, 1] < bottom + height + pad)
    return np.flatnonzero(seen)


def _ground(setup: Setup, step_mm: float) -> Ground:
    """Return the cloth to draw on, levelled so that its mean is the garment's colour."""
    fabric: Fabric = setup.fabric
    weave, relief = _WEAVES[fabric.weave]
    coarse = math.sqrt(fabric.weight.value / _USUAL_WEIGHT[fabric.weave])
    red, green, blue = _linear(np.array(setup.garment.rgb, dtype=np.float64))
    # The needle parts the yarns; the hole that stays is a little narrower than its blade.
    dimple = 0.42 * setup.needle.blade_mm
    white = Ground(weave, coarse, relief, 1.0, 1.0, 1.0, 1.0, dimple)
    n = min(500, max(120, int(PATCH_MM / step_mm)))
    level = mean_cloth_light(white, step_mm, n)
    return Ground(weave, coarse, relief, level, red, green, blue, dimple)


def _linear(codes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return linear light 0–1 from sRGB codes (IEC 61966-2-1)."""
    v = codes / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
