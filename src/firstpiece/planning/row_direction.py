"""The direction of a fill's rows: along a long area; aslant, apart from neighbours, in a round one.

Input: an area and the directions already taken beside it. Output: an angle.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

# A box longer than this share of its width gives the direction.
LONG_SHARE = 1.6


def row_angle(area: shapely.Polygon, *, taken_rad: tuple[float, ...] = ()) -> float:
    """Return the direction of rows for an area: its long side, or a slant away from neighbours.

    Parameters
    ----------
    area : shapely.Polygon
    taken_rad : tuple of float [rad]
        Directions of touching areas already decided; a round area keeps 30° from them if it can.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:3]
    sides = np.diff(corners, axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    k = int(np.argmax(lengths))
    if lengths[k] > LONG_SHARE * lengths[1 - k]:
        return math.atan2(sides[k, 1], sides[k, 0]) % math.pi
    choices = [math.pi / 4, 3 * math.pi / 4, 0.0, math.pi / 2]
    return max(choices, key=lambda a: (min([_turn(a, t) for t in taken_rad] + [math.pi / 6]),
                                       -choices.index(a)))  # fmt: skip


def _turn(a: float, b: float) -> float:
    """Return the angle between two undirected lines [rad]."""
    d = abs(a - b) % math.pi
    return min(d, math.pi - d)
