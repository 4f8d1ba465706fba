"""The sheen of a laid thread: what a point on its round surface sends to the eye.

In: the piece's direction, width and arch, a point on it, a seed. Out: the share of its own colour
and of white. Light comes from the upper left, so thread across the light shines.
"""

from __future__ import annotations

import math

from numba import njit

from firstpiece.kernels.cloth_texture import hash_unit
from firstpiece.kernels.thread_laying import CROWN_MM, DIP_LENGTH_MM, DIP_MM

# Unit vector to the light: from the upper left, 48 degrees above the cloth.
LIGHT_X, LIGHT_Y, LIGHT_Z = -0.4732, 0.4732, 0.7431
# Two plies twisted together: length of one ply's crossing, and the lean of its fibres.
PLY_MM, PLY_LEAN = 0.80, 0.24
FILAMENTS = 7.0
# Brings the mean of a solid fill, over all directions, to the thread's own colour.
THREAD_LEVEL = 1.27


@njit(cache=True, nogil=True)
def light_thread(
    axis: tuple[float, float], half: float, arch: float, at: tuple[float, float], seed: int
) -> tuple[float, float]:
    """Return how much of its own colour and how much white a thread sample sends to the eye.

    Parameters
    ----------
    axis : tuple of float [mm]
        From the piece's first end to its last.
    half, arch : float [mm]
        Its half width and the rise of its middle.
    at : tuple of float
        Across, -1 at the right edge to 1 at the left seen along the piece; along [mm].
    seed : int
        Decides ply phase and filaments.

    Notes
    -----
    Fibre sheen after Kajiya & Kay 1989 (from memory): a fibre mirrors light into a cone about its
    tangent, so the highlight is strongest where the angles of light and eye to the tangent agree.
    The tangent leans with the ply and with the arch of the stitch; the eye is straight above.
    """
    across, along = at
    length = math.hypot(axis[0], axis[1])
    tx, ty = axis[0] / length, axis[1] / length
    slope = -4.0 * arch * (2.0 * along / length - 1.0) / length
    q = min(along, length - along)
    if q < DIP_LENGTH_MM:
        dive = 2.0 * DIP_MM * (1.0 - max(q, 0.0) / DIP_LENGTH_MM) / DIP_LENGTH_MM
        slope += dive if along < length - along else -dive
    round_ = math.sqrt(1.0 - across * across)
    side = CROWN_MM / half * across / max(round_, 0.3)
    # Normal of the surface: across is (-ty, tx), along is (tx, ty).
    norm = 1.0 / math.sqrt(1.0 + side * side + slope * slope)
    facing = (-side * ty - slope * tx) * LIGHT_X + (side * tx - slope * ty) * LIGHT_Y + LIGHT_Z
    facing = max(0.0, facing * norm)
    phase = along / PLY_MM + 0.42 * across + hash_unit(seed, 0, 3)
    phase -= math.floor(phase)
    groove = (2.0 * phase - 1.0) * (2.0 * phase - 1.0)
    groove *= groove
    strand = (across + 1.0 + 1.5 * along / PLY_MM) * FILAMENTS
    fleck = hash_unit(seed, math.floor(strand), 4) - 0.5
    lean = PLY_LEAN * (1.0 - 0.6 * groove) + 0.30 * fleck
    fx, fy, fz = tx - lean * ty, ty + lean * tx, slope + 0.16 * fleck
    fibre = 1.0 / math.sqrt(fx * fx + fy * fy + fz * fz)
    to_light = (fx * LIGHT_X + fy * LIGHT_Y + fz * LIGHT_Z) * fibre
    to_eye = fz * fibre
    mirror = math.sqrt(1.0 - to_light * to_light) * math.sqrt(1.0 - to_eye * to_eye)
    mirror = max(0.0, mirror - to_light * to_eye)
    broad = mirror * mirror * mirror * mirror
    broad *= broad
    sharp = broad * broad * broad
    own = (0.40 + 0.44 * facing + 0.60 * broad * facing) * (1.0 - 0.34 * groove)
    own *= (0.74 + 0.26 * round_) * (1.0 + 0.16 * fleck)
    own *= 1.0 + 0.12 * (hash_unit(seed, 1, 5) - 0.5)
    return own * THREAD_LEVEL, sharp * facing * round_
