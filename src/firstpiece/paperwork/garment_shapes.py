"""Plain line outlines of garments at usual sizes, drawn by us, in mm round their mark.

In: a kind of garment. Out: its outline; a kind that is not known is a plain piece of cloth.
Measures are common practice, no source; they show a place, they are no pattern.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Points = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Outline:
    """A garment as it lies on the table, in mm round the point its placement is measured from.

    ``cloth`` is the filled outline, ``seams`` open lines on it; ``axis_x`` is where the design's
    middle stands; beyond ``shown_half_mm`` of it the drawing may be cut. ``middle_x`` is the
    garment's middle line, ``shoulder_y`` the height of the shoulder point at the neck.
    """

    cloth: tuple[Points, ...]
    seams: tuple[Points, ...]
    axis_x: float = 0.0
    shown_half_mm: float = 1e4
    middle_x: float = 0.0
    shoulder_y: float = 0.0


def _mirror(half: Points) -> Points:
    """Return a closed outline from its right half, given from top middle to bottom middle."""
    return half + [(-x, y) for x, y in reversed(half) if x > 0.5]


def _arc(x: float, y: float, across: float, depth: float) -> Points:
    """Return a hanging curve from (x - across, y) to (x + across, y), ``depth`` deep."""
    t = np.linspace(-1.0, 1.0, 17)
    return [(x + across * float(s), y - depth * float(1 - s * s)) for s in t]


def _shirt(sleeve: Points, hem: float) -> Outline:
    neck = [(x, y) for x, y in _arc(0, 60, 88, 60) if x >= 0]
    body = [*neck, (92, 70), *sleeve, (248, -hem), (0, -hem)]
    rib = [(x, y) for x, y in _arc(0, 66, 104, 84)]
    return Outline((_mirror(body),), (rib,), shoulder_y=70.0)


def _tee() -> Outline:
    return _shirt([(228, 40), (395, -95), (322, -180), (246, -112)], 630)


def _sweatshirt() -> Outline:
    shirt = _shirt([(232, 40), (330, -60), (432, -520), (352, -545), (256, -150)], 600)
    hem: Points = [(-248, -545), (248, -545)]
    cuffs: tuple[Points, ...] = ([(419, -462), (340, -486)], [(-419, -462), (-340, -486)])
    return Outline(shirt.cloth, (*shirt.seams, hem, *cuffs), shoulder_y=shirt.shoulder_y)


def _polo() -> Outline:
    """Return a polo measured from the wearer's left shoulder point at the neck."""
    half: Points = [(0, 6), (78, 40), (228, 0), (382, -120), (312, -205), (246, -148),
        (248, -690), (0, -690)]  # fmt: skip
    body = _mirror(half)
    collar: Points = [(0, -34), (60, -52), (92, 30), (70, 44), (0, 16), (-70, 44), (-92, 30),
        (-60, -52), (0, -34)]  # fmt: skip
    placket: Points = [(-16, -38), (-16, -190), (16, -190), (16, -38)]
    shift = (-78.0, -40.0)

    def move(points: Points) -> Points:
        return [(x + shift[0], y + shift[1]) for x, y in points]

    return Outline((move(body),), (move(collar), move(placket)), axis_x=22.0, middle_x=-78.0)


def _jacket() -> Outline:
    """Return a jacket seen from the back, measured from the collar seam at the middle."""
    neck = [(x, y) for x, y in _arc(0, 14, 84, 14) if x >= 0]
    sleeve: Points = [(240, -30), (335, -110), (452, -560), (368, -585), (272, -190)]
    body = _mirror([*neck, (88, 16), *sleeve, (268, -620), (0, -620)])
    collar: Points = [(-86, 15), (-94, 48), (0, 58), (94, 48), (86, 15)]
    yoke: Points = [(-262, -120), (0, -132), (262, -120)]
    hem: Points = [(-268, -560), (268, -560)]
    cuffs: tuple[Points, ...] = ([(438, -502), (356, -526)], [(-438, -502), (-356, -526)])
    return Outline((body, _mirror([(0, 58), (94, 48), (86, 15), (0, 0)])),
        (collar, yoke, hem, *cuffs))  # fmt: skip


def _apron() -> Outline:
    half: Points = [(0, 0), (128, 0), (140, -120), (190, -225), (330, -290), (345, -300),
        (345, -800), (0, -800)]  # fmt: skip
    loop = [(x, -y) for x, y in _arc(0, 4, 108, 120)]
    ties: tuple[Points, ...] = (
        [(345, -302), (430, -350), (470, -460)],
        [(-345, -302), (-430, -350), (-470, -460)],
    )
    pocket: Points = [(-150, -430), (-150, -620), (150, -620), (150, -430), (-150, -430)]
    hem: Points = [(-128, -22), (128, -22)]
    return Outline((_mirror(half),), (loop, *ties, pocket, hem), shown_half_mm=235.0)


def _towel() -> Outline:
    body: Points = [(-250, 700), (250, 700), (250, -110), (-250, -110)]
    return Outline((body,), ([(-250, 0), (250, 0)], [(-250, -38), (250, -38)]))


def _bag() -> Outline:
    """Return a carrying bag measured from the middle of its upper edge."""
    body: Points = [(-190, 0), (190, 0), (190, -400), (-190, -400)]
    hem: Points = [(-190, -32), (190, -32)]
    outer = [(x, -y) for x, y in _arc(0, 34, 92, 230)]
    inner = [(x, -y) for x, y in _arc(0, 34, 66, 204)]
    return Outline((body,), (hem, outer, inner))


def _cap() -> Outline:
    """Return a cap seen from the front, measured from the seam of crown and brim."""
    crown: Points = [
        (105 * float(np.cos(a)), 118 * float(np.sin(a))) for a in np.linspace(0, np.pi, 25)
    ]
    brim = [*_arc(0, 0, 105, -14)[::-1], *_arc(0, 0, 118, 62)]
    front: Points = [(0, 118), (0, -4)]
    side = [(x * 0.52, y) for x, y in crown[:13]]
    other = [(-x, y) for x, y in side]
    stitching = [(x * 0.92, y * 0.8 - 4) for x, y in _arc(0, 0, 118, 62)]
    button = [(7 * float(np.cos(a)), 118 + 5 * float(np.sin(a))) for a in np.linspace(0, np.pi, 9)]
    return Outline((crown, brim), (front, side, other, stitching, button))


def _mat() -> Outline:
    """Return a square mat with rounded corners and a bound edge, measured from its middle."""

    def ring(half: float, corner: float) -> Points:
        turn = np.linspace(0, np.pi / 2, 7)
        points: Points = []
        for quarter in range(4):
            sx, sy = (1, 1, -1, -1)[quarter], (1, -1, -1, 1)[quarter]
            part = [
                (sx * (half - corner + corner * float(np.sin(a))),
                 sy * (half - corner + corner * float(np.cos(a)))) for a in turn
            ]  # fmt: skip
            points += part if quarter % 2 == 0 else part[::-1]
        return points

    inner = ring(190.0, 22.0)
    return Outline((ring(202.0, 32.0),), ([*inner, inner[0]],))


def _cloth() -> Outline:
    half = 210.0
    body: Points = [(-half, half), (half, half), (half, -half), (-half, -half)]
    inner = [(x * 0.94, y * 0.94) for x, y in [*body, body[0]]]
    return Outline((body,), (inner,))


_SHAPES = {
    "tee": _tee, "polo": _polo, "sweatshirt": _sweatshirt, "jacket": _jacket, "apron": _apron,
    "towel": _towel, "bag": _bag, "cap": _cap, "mat": _mat,
}  # fmt: skip

KINDS = tuple(_SHAPES)
"""Kinds of garment that have an outline of their own."""


def garment_outline(kind: str) -> Outline:
    """Return the outline for a kind of garment."""
    return _SHAPES.get(kind, _cloth)()
