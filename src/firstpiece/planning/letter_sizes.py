"""How small a text can be sewn: its narrowest stroke and its narrowest opening against the thread.

Input: set text, the laid width of a thread, the pull of a cloth. Output: the smallest cap height.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from firstpiece.model.lettering import SetText

# A stroke is a stroke down to this many laid threads, sewn there and back (common practice, no
# source: letters of a 40 weight thread from about 5 mm, of a thin one from about 4 mm).
STROKE_THREADS = 1.5
# An opening closes below one laid thread and the widening of its two sides.
OPENING_THREADS = 1.0
# A stroke is as wide as the widest band that still fills this share of it.
MOST_OF_IT = 0.9
HALVINGS = 12


def smallest_cap_mm(text: SetText, *, thread_mm: float, pull_mm: float) -> float:
    """Return the smallest height of capitals at which every letter of a text can be sewn.

    Parameters
    ----------
    text : SetText
        At any height.
    thread_mm : float [mm]
        Laid width.
    pull_mm : float [mm]
        Widening of each side.

    Returns
    -------
    float [mm]
    """
    needs = 0.0
    for form in text.glyphs:
        for part in form.parts_mm:
            needs = max(needs, STROKE_THREADS * thread_mm / stroke_width(part))
            for ring in part.interiors:
                opening = 2 * shapely.maximum_inscribed_circle(shapely.Polygon(ring)).length
                needs = max(needs, (OPENING_THREADS * thread_mm + 2 * pull_mm) / opening)
    return needs * text.cap_height_mm


def stroke_width(shape: shapely.Polygon) -> float:
    """Return the width of a shape's narrow strokes [mm]: the widest disc that opens most of it."""
    low, high = 0.0, float(shapely.maximum_inscribed_circle(shape).length)
    for _ in range(HALVINGS):
        radius = (low + high) / 2
        opened = shape.buffer(-radius, quad_segs=4).buffer(radius, quad_segs=4)
        if opened.intersection(shape).area >= MOST_OF_IT * shape.area:
            low = radius
        else:
            high = radius
    return 2 * max(low, 1e-3)
