"""A stitch plan as an SVG drawing in millimetres: one path for each run of thread.

A run is thread that lies on the cloth without a break: from where the needle goes down after a
move, a trim or a change of thread to the last stitch before the next one.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.model.stitch import StitchPlan

MARGIN_MM = 5.0
THREAD_MM = 0.4


def thread_runs(plan: StitchPlan) -> NDArray[np.int64]:
    """Return the rows of each run, (r, 2) int64: the first, and one past the last."""
    stitch = plan.action == Action.STITCH
    change = np.ones(len(stitch) + 1, dtype=bool)
    if len(stitch):
        change[1:-1] = (stitch[1:] != stitch[:-1]) | (plan.thread[1:] != plan.thread[:-1])
    edges = np.flatnonzero(change)
    runs = np.column_stack([edges[:-1], edges[1:]])
    return runs[stitch[runs[:, 0]]] if len(stitch) else np.zeros((0, 2), dtype=np.int64)


def write_runs_svg(plan: StitchPlan, *, title: str = "design") -> str:
    """Return the drawing; user units are millimetres, y is turned to run down as SVG wants it."""
    points = plan.xy_mm[plan.is_stitch]
    if not len(points):
        points = np.zeros((1, 2))
    left, bottom = points.min(axis=0) - MARGIN_MM
    right, top = points.max(axis=0) + MARGIN_MM
    width, height = right - left, top - bottom
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="{left:.2f} {-top:.2f} {width:.2f} {height:.2f}">',
        f"<title>{escape(title)}</title>",
        f'<g fill="none" stroke-width="{THREAD_MM}" stroke-linecap="round" '
        'stroke-linejoin="round">',
    ]
    xy = np.round(plan.xy_mm * (1.0, -1.0), 2) + 0.0
    names = [escape(thread.name, quote=True) for thread in plan.threads]
    for first, end in thread_runs(plan).tolist():
        run = xy[first:end]
        cells = ("%.2f,%.2f " * len(run)) % tuple(run.ravel().tolist())
        thread = int(plan.thread[first])
        # A single penetration is drawn as a dot: a path of no length with round ends.
        tail = f"L{cells.split(' ', 1)[0]}" if len(run) == 1 else ""
        lines.append(
            f'<path stroke="{plan.threads[thread].hex}" data-thread="{names[thread]}" '
            f'd="M{cells.rstrip()}{tail}"/>'
        )
    return "\n".join([*lines, "</g>", "</svg>", ""])
