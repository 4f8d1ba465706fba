"""Places along a baseline: lengths from its left end to points and directions.

In: a straight line, an arc or a circle, and the length of the text. Out: for each distance along it
the point on it and the direction of reading there.
"""

from __future__ import annotations

import math
from gettext import gettext as _

from firstpiece.errors import InputError
from firstpiece.model.lettering import ArcBaseline, Baseline, CircleBaseline, StraightBaseline

FARTHEST_MM = 2000.0
SMALLEST_RADIUS_MM = 1.0


def check_baseline(baseline: Baseline) -> None:
    """Refuse a baseline with a number that is not one, or far out of reach."""
    if isinstance(baseline, StraightBaseline):
        numbers: tuple[float, ...] = (*baseline.middle_mm, baseline.angle_rad)
    else:
        turn = baseline.middle_rad if isinstance(baseline, ArcBaseline) else baseline.start_rad
        numbers = (*baseline.centre_mm, turn, baseline.radius_mm)
        if not baseline.radius_mm >= SMALLEST_RADIUS_MM:
            raise InputError(
                _("letters cannot stand on a circle of {mm:g} mm radius").format(
                    mm=baseline.radius_mm
                ),
                remedy=_("choose at least 1 mm, and more than the text is high"),
            )
    if not all(math.isfinite(number) and abs(number) <= FARTHEST_MM for number in numbers):
        raise InputError(
            _("the line for the text is not a place in the design"),
            remedy=_("give millimetres from the middle of the design"),
        )


def check_room(baseline: Baseline, length_mm: float) -> None:
    """Refuse a text longer than its circle."""
    if isinstance(baseline, StraightBaseline):
        return
    room = 2.0 * math.pi * baseline.radius_mm
    if length_mm > room:
        raise InputError(
            _("the text is {length:.1f} mm long and its circle only {room:.1f} mm round").format(
                length=length_mm, room=room
            ),
            remedy=_("choose a radius of at least {mm:.1f} mm, or smaller letters").format(
                mm=math.ceil(length_mm / (2.0 * math.pi) * 10.0) / 10.0
            ),
        )


def place_at(
    baseline: Baseline, along_mm: float, length_mm: float
) -> tuple[tuple[float, float], float]:
    """Return point and direction of reading [rad] at a distance from the text's left end.

    Parameters
    ----------
    baseline : Baseline
    along_mm : float [mm]
    length_mm : float [mm]
        Of the whole text.
    """
    if isinstance(baseline, StraightBaseline):
        x, y = baseline.middle_mm
        s = along_mm - 0.5 * length_mm
        angle = baseline.angle_rad
        return (x + s * math.cos(angle), y + s * math.sin(angle)), angle
    if isinstance(baseline, CircleBaseline):
        start, s = baseline.start_rad, along_mm
    else:
        start, s = baseline.middle_rad, along_mm - 0.5 * length_mm
    # Heads outward: read clockwise. Heads inward: anticlockwise.
    way = 1.0 if baseline.is_inside else -1.0
    at = start + way * s / baseline.radius_mm
    cx, cy = baseline.centre_mm
    point = (cx + baseline.radius_mm * math.cos(at), cy + baseline.radius_mm * math.sin(at))
    return point, at + way * 0.5 * math.pi
