"""How far from its mark a design stands on each garment size, in millimetres.

In: a garment, a size in letters. Out: the distance, and how much larger the garment is than its
usual size. A distance told by hand breadths is different in every hand: here it is millimetres.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from firstpiece.paperwork.garment_drawing import GarmentView, place_design

if TYPE_CHECKING:
    from firstpiece.model.material import Garment
    from firstpiece.model.paper_details import SizeRow

# Chest girth in cm by letter, from … to. EN 13402-3:2005, men's letters (from memory; their edges
# agree with the standard's steps); XS and the women's column alike.
CHEST_CM = {
    "XS": (78, 86), "S": (86, 94), "M": (94, 102), "L": (102, 110), "XL": (110, 118),
    "XXL": (118, 129), "3XL": (129, 141),
}  # fmt: skip
WOMENS_BUST_CM = {"S": (82, 90), "M": (90, 98), "L": (98, 107), "XL": (107, 119)}
BUST_EDGES_CM = (74, 78, 82, 86, 90, 94, 98, 102, 107, 113, 119, 125, 131)
"""Edges of the bust steps, EN 13402-3:2005."""

FOUR_FINGERS_MM = (72.0, 96.0)
"""Hand breadth, 5 % of women to 95 % of men (ANSUR II, NATICK/TR-15/007): four fingers down."""

USUAL_SIZE = "M"


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
    The card's distance is for size M. It grows with the chest (our own rule, no source), whole
    millimetres, and a distance that four fingers would span stays one that they span.
    """
    distance = place_design(garment, 0.0)[2]
    if distance is None:
        return None
    graded = distance * size_growth(size)
    low, high = FOUR_FINGERS_MM
    if low <= distance <= high:
        graded = min(high, max(low, graded))
    return float(round(graded))


def size_view(garment: Garment, row: SizeRow) -> GarmentView:
    """Return how to draw a garment of one size with the design in its place."""
    distance = row.distance_mm
    if distance is None:
        distance = graded_distance_mm(garment, row.size)
    return GarmentView(size_growth(row.size), distance)
