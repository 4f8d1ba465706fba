"""The needle plan as a picture: a row of needles, each under the cone it is threaded from.

In: the cones on the needles. Out: a line drawing with numbers; cones that must be put on before the
job are marked and named, cones that stay on for another job are pale.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.model.page import INK
from firstpiece.model.paper_details import NeedleCone
from firstpiece.paperwork.sheet import ACCENT, CAPTION, LABEL, RULE, Face

if TYPE_CHECKING:
    from firstpiece.model.paper import PaperJob
    from firstpiece.paperwork.sheet import Sheet

HEIGHT_MM = 27.0
_WIDEST_MM = 13.0


def planned_needles(job: PaperJob) -> tuple[NeedleCone, ...]:
    """Return the cones on the needles: as planned by the shop, else in the order of sewing."""
    if job.needles:
        return job.needles
    threads = job.plan.threads
    n = max(job.setup.machine.needles, len(threads))
    return tuple(
        NeedleCone(i + 1, threads[i] if i < len(threads) else None) for i in range(min(n, 30))
    )


def needle_of(job: PaperJob, thread_index: int) -> int | None:
    """Return the needle that carries a thread of the plan, or None."""
    wanted = job.plan.threads[thread_index]
    return next((c.needle for c in planned_needles(job) if c.is_used and c.thread == wanted), None)


def changes_text(job: PaperJob) -> str:
    """Return which cones are put on before the job; empty when nothing is known of the day."""
    if not job.needles:
        return ""
    put_on = [
        _("{thread} on {needle}").format(thread=c.thread.name, needle=c.needle)
        for c in job.needles
        if c.is_changed and c.thread
    ]
    if put_on:
        return _("Put on first: {cones}.").format(cones=", ".join(put_on))
    return _("All its cones are on from the job before.")


def draw_needles(sheet: Sheet, box: tuple[float, float, float], job: PaperJob) -> float:
    """Draw the needles into (left, top, width); return the y below."""
    left, top, width = box
    cones = planned_needles(job)
    pitch = min(_WIDEST_MM, width / max(1, len(cones)))
    for i, cone in enumerate(cones):
        _draw_needle(sheet, (left + pitch * (i + 0.5), top), pitch, cone)
    said = _("cones on needles; empty ones are not used")
    if job.head:
        said = _("cones on “{head}”; pale ones stay for other jobs").format(head=job.head)
    sheet.fit(left, top - HEIGHT_MM + 1.0, said, width, CAPTION)
    return top - HEIGHT_MM


def _draw_needle(sheet: Sheet, at: tuple[float, float], pitch: float, cone: NeedleCone) -> None:
    """Draw one cone, its thread and its needle; ``at`` is the middle of its upper end."""
    x, top = at
    half = 0.36 * pitch
    body = np.array([[-0.45, 0.0], [0.45, 0.0], [1.0, -7.0], [-1.0, -7.0]]) * (half, 1.0)
    foot = np.array([[-1.15, -7.0], [1.15, -7.0], [1.15, -8.0], [-1.15, -8.0]]) * (half, 1.0)
    shift = np.array([x, top - 1.5])
    used = cone.thread is not None and cone.is_used
    ink = INK if used else RULE
    fill = cone.thread.rgb if cone.thread else None
    if fill and not used:
        fill = (_paled(fill[0]), _paled(fill[1]), _paled(fill[2]))
    sheet.shape([body + shift], fill=fill, stroke=ink)
    sheet.shape([foot + shift], fill=(255, 255, 255), stroke=ink)
    if cone.is_changed:
        sheet.shape([np.array([[x - half, top], [x + half, top]])], stroke=ACCENT,
            stroke_mm=0.6, closed=False)  # fmt: skip
    shank = top - 10.5
    if cone.thread and used:
        sheet.shape([np.array([[x, shank + 1.0], [x, shank - 5.0]])], stroke=cone.thread.rgb,
            stroke_mm=0.5, closed=False)  # fmt: skip
    needle = np.array([[-0.5, 0.0], [0.5, 0.0], [0.4, -3.0], [0.0, -5.5], [-0.4, -3.0]])
    sheet.shape([needle + np.array([x, shank - 1.0])], fill=(255, 255, 255), stroke=ink)
    face = Face(8.0, "bold" if used else "regular", INK if used else LABEL, "centre")
    sheet.text(x, top - 21.5, str(cone.needle), face)


def _paled(channel: int) -> int:
    """Return a channel of a colour laid thinly on paper."""
    return round(255 - 0.3 * (255 - channel))
