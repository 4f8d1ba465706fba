"""What the picture leaves open: questions for the customer, with lettered choices."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: its words, and the edit it stands for (``thread``, ``bare``, ``merge``, …)."""

    label: str
    effect: str
    value: float | str | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """One open point.

    Parameters
    ----------
    code : str
        ``bare-or-thread``, ``near-colors``, ``too-small``.
    letter : str
        The letter(s) on the picture sheet: A, B, … Z, AA, …
    text : str
        The question in plain words.
    region_ids : tuple of int
        The areas it is about.
    where_mm : tuple of float
        A point inside the first of them.
    choices : tuple of Choice
        The first is what happens when nobody answers.
    sewable_height_mm : float or None [mm]
        For ``too-small``: the smallest height of the design at which it can be sewn.
    """

    code: str
    letter: str
    text: str
    region_ids: tuple[int, ...]
    where_mm: tuple[float, float]
    choices: tuple[Choice, ...]
    sewable_height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Questions:
    """All open points of one picture at one height, and a message ready to paste."""

    items: tuple[Question, ...]
    message: str
