"""The only conversions: lengths typed by people, thread counts, needle sizes, points and pixels.

Everything inside is millimetres, tex, grams per square metre and centinewtons. People type inches
or millimetres in the ways a shop writes them; this module reads both and writes both.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from firstpiece.errors import LengthError

MM_PER_INCH = 25.4
MM_PER_POINT = MM_PER_INCH / 72
POINTS_PER_MM = 72 / MM_PER_INCH
METRES_PER_YARD = 0.9144

_UNIT_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
    "”": MM_PER_INCH,
    "''": MM_PER_INCH,
    "pt": MM_PER_POINT,
}
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
           "⅓": "1/3", "⅔": "2/3"}  # fmt: skip
_LENGTH = re.compile(
    r"""^\s*(?:(?P<whole>\d+)[\s-]+(?P<num>\d+)\s*/\s*(?P<den>\d+)
          |(?P<num2>\d+)\s*/\s*(?P<den2>\d+)
          |(?P<decimal>\d+(?:[.,]\d+)?|[.,]\d+))
        \s*(?P<unit>[^\s\d]*)\s*$""",
    re.VERBOSE,
)


def parse_length_mm(text: str, *, default_unit: str | None = None) -> float:
    """Return the length in millimetres that a person typed.

    Understands ``90 mm``, ``9cm``, ``3.5 in``, ``3,5 cm``, ``3 1/2"`` and ``3½ in``.

    Parameters
    ----------
    text : str
        What was typed; never negative.
    default_unit : str or None
        Unit assumed for a bare number; ``None`` refuses a bare number.

    Returns
    -------
    float [mm]
        A finite length, zero or more.

    Raises
    ------
    LengthError
        When the text is not a length, or its unit is missing or unknown.
    """
    plain = text.strip().lower()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    match = _LENGTH.match(plain)
    remedy = 'write it like 90 mm, 9 cm, 3.5 in or 3 1/2"'
    if match is None:
        msg = f"“{text.strip()[:40]}” is not a length"
        raise LengthError(msg, remedy=remedy)
    unit = match["unit"] or default_unit
    if not unit:
        msg = f"“{text.strip()[:40]}” has no unit"
        raise LengthError(msg, remedy=remedy)
    if unit not in _UNIT_MM:
        msg = f"“{unit}” is not a unit of length known here"
        raise LengthError(msg, remedy=remedy)
    number = _number(match)
    value = number * _UNIT_MM[unit]
    if not math.isfinite(value):
        msg = f"“{text.strip()[:40]}” is out of range"
        raise LengthError(msg, remedy=remedy)
    return value


def _number(match: re.Match[str]) -> float:
    if match["decimal"]:
        return float(match["decimal"].replace(",", "."))
    top, bottom = (match["num"], match["den"]) if match["num"] else (match["num2"], match["den2"])
    if int(bottom) == 0:
        msg = "a fraction cannot have a zero below the line"
        raise LengthError(msg, remedy='write it like 3 1/2"')
    return float(int(match["whole"] or 0) + Fraction(int(top), int(bottom)))


def format_length(mm: float, *, unit: str = "mm", digits: int = 1) -> str:
    """Return a length as a shop writes it, without needless zeros (``90 mm``, ``3.5 in``)."""
    value = mm / _UNIT_MM[unit]
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    return f"{text} {unit}"


def thread_diameter_mm(tex: float, density_g_cm3: float, packing: float) -> float:
    """Return the diameter of a round thread of this linear density.

    Parameters
    ----------
    tex : float [g/km]
        Linear density (ISO 1144).
    density_g_cm3 : float [g/cm³]
        Density of the fibre.
    packing : float
        Share of the thread's section that is fibre, 0 to π/(2√3).

    Returns
    -------
    float [mm]

    Notes
    -----
    d = √(4·10⁻³·tex / (π·φ·ρ)): the mass of a cylinder of length 1 km.
    """
    return math.sqrt(4e-3 * tex / (math.pi * packing * density_g_cm3))


def tex_from_weight(weight: float) -> float:
    """Return tex for a thread "weight" read as the metric count (km/kg) of the finished thread.

    The trade also uses the number in other ways: cards store tex and show the weight beside it.
    """
    return 1000.0 / weight


def needle_trade_number(metric_size: int) -> str:
    """Return the needle's metric size and trade number as the trade writes them (``75/11``).

    Nm is the blade's diameter in hundredths of a millimetre; the paired number steps by one for
    five hundredths from 60/8 up to 110/18 (common practice, no source).
    """
    return f"{metric_size}/{round(8 + (metric_size - 60) / 5)}"
