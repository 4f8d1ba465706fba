"""How far from its mark a design stands on each garment size, in millimetres.

In: a garment, a size in letters. Out: the distance, and how much larger the garment is than its
usual size. A distance told by hand breadths is different in every hand: here it is millimetres.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from firstpiece.model.placement import MEN_LETTERS_CM
from firstpiece.paperwork.garment_drawing import GarmentView, place_design

if TYPE_CHECKING:
    from firstpiece.model.material import Garment
    from firstpiece.model.paper_details import SizeRow

CHEST_CM = {"XS": (78, 86), **{letter: (low, high) for letter, low, high in MEN_LETTERS_CM}}
"""Chest girth in cm by letter, from … to: EN 13402-3 men's letters, and one step below them."""

FOUR_FINGERS_MM = (72.0, 96.0)
"""Hand breadth, 5 % of women to 95 % of men (ANSUR II, NATICK/TR-15/007): four fingers down."""

USUAL_SIZE = "M"
SHORT_STEP_MM, LONG_STEP_MM, LONG_MM = 4.0, 8.0, 120.0


def size_growth(size: str) -> float:
    """Return how much larger a size is than M by chest girth; 1 for sizes that are not letters."""
    letters = _letters(size)
    if letters not in CHEST_CM:
        return 1.0
    return sum(CHEST_CM[letters]) / sum(CHEST_CM[USUAL_SIZE])


def _letters(size: str) -> str:
    plain = size.strip().upper()
    if match := re.fullmatch(r"(\d)X([SL])", plain):
        return plain if plain == "3XL" else "X" * int(match[1]) + match[2]
    return "3XL" if plain == "XXXL" else plain


def graded_distance_mm(garment: Garment, size: str) -> float | None:
    """Return the distance of the design from its mark on a size [mm]; None when there is no mark.

    Notes
    -----
    The card's distance is for size M. It grows by 4 mm a letter, 8 mm from 120 mm on (a guess, as
    in the placement table), and one that four fingers would span stays one that they span.
    """
    distance = place_design(garment, 0.0)[2]
    letters = _letters(size)
    if distance is None or letters not in CHEST_CM:
        return distance
    order = list(CHEST_CM)
    step = SHORT_STEP_MM if distance < LONG_MM else LONG_STEP_MM
    graded = distance + step * (order.index(letters) - order.index(USUAL_SIZE))
    low, high = FOUR_FINGERS_MM
    if low <= distance <= high:
        graded = min(high, max(low, graded))
    return float(round(graded))


def size_view(garment: Garment, row: SizeRow) -> GarmentView:
    """Return how to draw a garment of one size with the design in its place.

    A row with a garment of its own has the size's millimetres in that garment's words.
    """
    distance = row.distance_mm
    if distance is None and row.garment is None:
        distance = graded_distance_mm(garment, row.size)
    return GarmentView(size_growth(row.size), distance)
