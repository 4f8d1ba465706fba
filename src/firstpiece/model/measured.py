"""Numbers that say how sure they are: card entries, forecast bands and figures."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Certainty(StrEnum):
    """Where a forecast figure comes from.

    COMPUTED follows from the plan alone (counts, lengths of path); CALIBRATED uses numbers that
    this shop measured; DEFAULT uses numbers from the shipped cards, so it carries a band.
    """

    COMPUTED = "computed"
    CALIBRATED = "calibrated"
    DEFAULT = "default"


@dataclass(frozen=True, slots=True)
class Measured:
    """One number on a card: its value, the band it may lie in, its unit and where it comes from.

    Parameters
    ----------
    value, low, high : float
        ``low <= value <= high``, in ``unit``.
    unit : str
        SI or textile unit as written on the card; empty for a ratio.
    source : str
        A citation, "this shop, measured …", or "guess".
    """

    value: float
    low: float
    high: float
    unit: str
    source: str

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (self.value, self.low, self.high)):
            msg = "a card number must be finite"
            raise ValueError(msg)
        if not self.low <= self.value <= self.high:
            msg = f"{self.low} ≤ {self.value} ≤ {self.high} does not hold"
            raise ValueError(msg)
        if not self.source:
            msg = "a card number needs its source"
            raise ValueError(msg)

    @property
    def certainty(self) -> Certainty:
        """CALIBRATED when this shop measured it, DEFAULT otherwise."""
        return Certainty.CALIBRATED if self.source.startswith("this shop") else Certainty.DEFAULT


@dataclass(frozen=True, slots=True)
class Band:
    """Where a figure lies: 5 %, 50 % and 95 % points, or one value when it is exact."""

    p05: float
    p50: float
    p95: float

    def __post_init__(self) -> None:
        if not self.p05 <= self.p50 <= self.p95:
            msg = f"a band must rise: {self.p05}, {self.p50}, {self.p95}"
            raise ValueError(msg)

    @classmethod
    def exact(cls, value: float) -> Band:
        """Return the band of a value that has no spread."""
        return cls(value, value, value)

    @property
    def is_exact(self) -> bool:
        """True when the band has no width."""
        return self.p05 == self.p95


@dataclass(frozen=True, slots=True)
class Figure:
    """A forecast number with its band, unit and certainty, and a word on what it rests on."""

    band: Band
    unit: str
    certainty: Certainty
    basis: str
