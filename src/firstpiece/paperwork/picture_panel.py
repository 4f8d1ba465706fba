"""The sew-out at true size on a sheet: its place, its size marks, its picture.

In: a job. Out: a panel with the picture, as large as the design needs and no larger, because every
square millimetre of cloth costs time to draw. A picture that is already drawn is used again.
"""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.paperwork.design_drawing import scale_to_fit
from firstpiece.paperwork.form import say_length
from firstpiece.paperwork.pins import draw_pins, number_findings
from firstpiece.paperwork.sewout_picture import draw_sewout
from firstpiece.paperwork.sheet import CAPTION, LABEL, MARGIN_MM, Face

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.paper import PaperJob
    from firstpiece.model.paper_details import SewoutPicture
    from firstpiece.paperwork.sewout_picture import WindowMm
    from firstpiece.paperwork.sheet import Sheet

PIXELS_PER_MM = 8.0
"""Three pixels across a 0.40 mm thread; a printer shows no more."""

SAMPLES_PER_MM = 16.0
GUTTER_MM = 14.0
CLOTH_MM = 8.0
TALLEST_MM = 150.0
_LEAST = (100.0, 50.0)


@dataclass(frozen=True, slots=True)
class Panel:
    """The picture's place on the sheet [mm] and the scale of the design in it."""

    left: float
    bottom: float
    width: float
    height: float
    scale: float

    @property
    def middle(self) -> tuple[float, float]:
        """Where the design's centre lies."""
        return self.left + self.width / 2, self.bottom + self.height / 2

    @property
    def window_mm(self) -> WindowMm:
        """What the picture shows of the design: left, bottom, width, height [mm]."""
        width, height = self.width / self.scale, self.height / self.scale
        return (-width / 2, -height / 2, width, height)


def design_extent(job: PaperJob) -> tuple[float, float]:
    """Return the box centred on the art that holds art and stitches: width, height [mm]."""
    points = job.plan.xy_mm[job.plan.is_stitch]
    reach = 2 * np.abs(points).max(axis=0) if len(points) else np.zeros(2)
    return (
        max(float(reach[0]), job.region_map.width_mm),
        max(float(reach[1]), job.region_map.height_mm),
    )


def place_panel(sheet: Sheet, top: float, job: PaperJob, *, tallest: float = TALLEST_MM) -> Panel:
    """Return where the picture goes: under ``top``, in the middle of the sheet."""
    room = sheet.measure_mm - GUTTER_MM
    size = design_extent(job)
    scale = scale_to_fit(size, (room - 2 * CLOTH_MM, tallest - 2 * CLOTH_MM))
    width = min(room, max(_LEAST[0], size[0] * scale + 2 * CLOTH_MM))
    height = min(tallest, max(_LEAST[1], size[1] * scale + 2 * CLOTH_MM))
    return Panel(MARGIN_MM + GUTTER_MM + (room - width) / 2, top - height, width, height, scale)


def draw_panel(sheet: Sheet, panel: Panel, job: PaperJob, *, with_pins: bool = True) -> None:
    """Draw the picture, its size marks and the pins of the findings."""
    pixels = panel_pixels(job, panel)
    sheet.picture(panel.left, panel.bottom, (panel.width, panel.height), pixels)
    _draw_size_marks(sheet, panel, job)
    if with_pins:
        draw_pins(sheet, number_findings(job), panel.middle, panel.scale)


def panel_pixels(job: PaperJob, panel: Panel) -> NDArray[np.uint8]:
    """Return the picture of a panel, cut from the job's own where that one shows enough.

    Returns
    -------
    (h, w, 3) uint8 [sRGB]
        ``PIXELS_PER_MM`` to the millimetre of paper, row 0 at the top.
    """
    zoom = PIXELS_PER_MM * panel.scale
    if job.sewout is not None:
        cut = _cut(job.sewout, panel.window_mm, zoom)
        if cut is not None:
            return cut
    return draw_sewout(
        job.plan,
        setup=job.setup,
        pixels_per_mm=zoom,
        window_mm=panel.window_mm,
        samples_per_mm=SAMPLES_PER_MM,
    )


def _cut(drawn: SewoutPicture, window: WindowMm, zoom: float) -> NDArray[np.uint8] | None:
    """Return a window of a picture at a zoom, or None when it shows less or more coarsely."""
    left, bottom, width, height = drawn.window_mm
    n_rows, n_cols = drawn.pixels.shape[:2]
    own = n_cols / width
    x0, y0 = (window[0] - left) * own, (bottom + height - window[1] - window[3]) * own
    x1, y1 = x0 + window[2] * own, y0 + window[3] * own
    if own < zoom or min(x0, y0) < -1.0 or x1 > n_cols + 1.0 or y1 > n_rows + 1.0:
        return None
    rows = slice(max(0, round(y0)), min(n_rows, round(y1)))
    cols = slice(max(0, round(x0)), min(n_cols, round(x1)))
    size = (max(1, round(window[2] * zoom)), max(1, round(window[3] * zoom)))
    pixels: NDArray[np.uint8] = cv2.resize(
        np.ascontiguousarray(drawn.pixels[rows, cols]), size, interpolation=cv2.INTER_AREA
    )
    return pixels


def scale_text(panel: Panel) -> str:
    """Return the sentence that says how large the picture is drawn."""
    if panel.scale == 1.0:
        return _("True size.")
    return _("Shown at {p:.0f} % of true size.").format(p=100 * panel.scale)


def _draw_size_marks(sheet: Sheet, panel: Panel, job: PaperJob) -> None:
    """Draw the design's width over the picture and its height beside it, outside the cloth."""
    x, y = panel.middle
    half = (job.region_map.width_mm * panel.scale / 2, job.region_map.height_mm * panel.scale / 2)
    top = panel.bottom + panel.height
    level, upright = top + 2.2, panel.left - 2.2
    sheet.line(x - half[0], level, x + half[0], level, LABEL)
    sheet.line(upright, y - half[1], upright, y + half[1], LABEL)
    for sign in (-1.0, 1.0):
        sheet.line(x + sign * half[0], top + 0.8, x + sign * half[0], top + 3.6, LABEL)
        sheet.line(
            panel.left - 3.6, y + sign * half[1], panel.left - 0.8, y + sign * half[1], LABEL
        )
    wide = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="centre")
    label = say_length(job.region_map.width_mm, job.unit)
    sheet.fit(x, level + 0.9, label, panel.width, wide)
    tall = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")
    label = say_length(job.region_map.height_mm, job.unit)
    sheet.fit(upright - 1.0, y - 0.8, label, upright - 1.0 - MARGIN_MM, tall)
