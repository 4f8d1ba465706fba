"""From the ranges on the cards to the band of a figure, and how sure the figure is.

Input: a figure's value at the cards' middle and at the corners of their ranges. Output: a Figure.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from firstpiece.model.measured import Band, Certainty, Figure

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from firstpiece.model.measured import Measured


def corner_band(model: Callable[..., float], ranges: Sequence[tuple[float, float, float]]) -> Band:
    """Return the band of a model over the corners of its inputs' ranges.

    Parameters
    ----------
    model : callable
        Takes one float per range.
    ranges : sequence of (low, value, high)

    Notes
    -----
    For a model that is monotone in each input the corners hold the extremes exactly (interval
    arithmetic; Moore, Kearfott & Cloud 2009, Introduction to Interval Analysis, ch. 5). The ranges
    are read as 5 % to 95 %; all at their ends at once is wider than that, so the band is cautious.
    """
    middle = model(*(value for _, value, _ in ranges))
    corners = [model(*corner) for corner in product(*((low, high) for low, _, high in ranges))]
    return Band(min(middle, *corners), middle, max(middle, *corners))


def range_of(number: Measured) -> tuple[float, float, float]:
    """Return a card number as (low, value, high)."""
    return (number.low, number.value, number.high)


def joint_certainty(*numbers: Measured) -> Certainty:
    """Return CALIBRATED when this shop measured every number the figure rests on, else DEFAULT."""
    measured = all(number.certainty is Certainty.CALIBRATED for number in numbers)
    return Certainty.CALIBRATED if measured else Certainty.DEFAULT


def figure(band: Band, unit: str, basis: str, *numbers: Measured) -> Figure:
    """Return a figure whose certainty follows from the card numbers it rests on."""
    return Figure(band, unit, joint_certainty(*numbers), basis)
