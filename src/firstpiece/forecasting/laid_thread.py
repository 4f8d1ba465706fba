"""The thread as it lies: ribbons between penetrations, their width, height and mass.

Input: a plan and a thread card. Output: pieces of thread in mm and the geometry of one layer.
The width between penetrations is uniform; where a later floor settles the cloth, settled points
can be given instead of the planned ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.units import thread_diameter_mm

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.material import Thread
    from firstpiece.model.stitch import StitchPlan


@dataclass(frozen=True, slots=True)
class ThreadSection:
    """The section of a laid thread: width and height [mm], area [mm²], mass of a layer [kg/m²]."""

    width_mm: float
    height_mm: float
    area_mm2: float
    layer_mass: float


def thread_section(card: Thread, tex: float, flattening: float) -> ThreadSection:
    """Return the section of a thread pressed flat to ``flattening`` times its round diameter.

    Parameters
    ----------
    card : Thread
        Gives density and packing.
    tex : float [g/km]
    flattening : float
        Width over round diameter, 1 or more.

    Notes
    -----
    An ellipse that keeps the round section's area: width e·d, height d/e (after Kemp 1958,
    J. Text. Inst. 49, T44, who used a racetrack).
    """
    round_mm = thread_diameter_mm(tex, card.density.value, card.packing.value)
    width = flattening * round_mm
    return ThreadSection(
        width_mm=width,
        height_mm=round_mm / flattening,
        area_mm2=np.pi * round_mm**2 / 4.0,
        layer_mass=tex * 1e-6 / (width * 1e-3),
    )


@dataclass(frozen=True, slots=True, eq=False)
class LaidThread:
    """All thread on top of the cloth.

    Parameters
    ----------
    segments_mm : (m, 4) float64 [mm]
        x0, y0, x1, y1 of each piece between two penetrations.
    thread : (m,) int16
        The plan's thread of each piece.
    row : (m,) int64
        The plan's row at which each piece ends.
    """

    segments_mm: NDArray[np.float64]
    thread: NDArray[np.int16]
    row: NDArray[np.int64]

    def half_widths_mm(self, widths_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (m,) float64 half widths, given the width of each of the plan's threads."""
        halves: NDArray[np.float64] = widths_mm[self.thread] / 2.0
        return halves

    @property
    def lengths_mm(self) -> NDArray[np.float64]:
        """(m,) float64: length of each piece [mm]."""
        steps = self.segments_mm[:, 2:] - self.segments_mm[:, :2]
        return np.hypot(steps[:, 0], steps[:, 1])


def lay_thread(plan: StitchPlan, points_mm: NDArray[np.float64] | None = None) -> LaidThread:
    """Return the thread lying on the cloth.

    Parameters
    ----------
    plan : StitchPlan
    points_mm : (n, 2) float64 [mm] or None
        Where the plan's rows come to lie once the cloth has settled; None leaves them as planned.
    """
    points = plan.xy_mm if points_mm is None else points_mm
    rows = plan.sewn_segments()
    segments = np.ascontiguousarray(np.hstack([points[rows - 1], points[rows]]))
    return LaidThread(segments.reshape(-1, 4), plan.thread[rows], rows)


def section_widths_mm(plan: StitchPlan, card: Thread, flattening: float) -> NDArray[np.float64]:
    """Return (k,) float64: laid width of each of the plan's threads [mm]."""
    return np.array([thread_section(card, t.tex, flattening).width_mm for t in plan.threads])
