"""Figures as they are written on the page: as many digits as they deserve, with their unit."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firstpiece.web.job_folder import Object


def with_unit(value: float, unit: str) -> str:
    """Return a figure with its unit, in as many digits as it deserves."""
    digits = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    # Narrow and whole no-break spaces: a figure never comes apart at the end of a line.
    number = f"{value:,.{digits}f}".replace(",", "\u202f")
    if digits:
        number = number.rstrip("0").rstrip(".")
    if unit.startswith("1/"):
        return _("{number} per {unit}").format(number=number, unit=unit[2:])
    return f"{number}\u00a0{unit}".rstrip()


def describe_band(figure: Object) -> str:
    """Return how far a forecast figure may lie off, or nothing when it is exact."""
    if figure["p05"] == figure["p95"]:
        return ""
    low, high = with_unit(figure["p05"], ""), with_unit(figure["p95"], "")
    return _("likely {low} to {high}").format(low=low, high=high)
