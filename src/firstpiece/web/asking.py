"""What a person typed into a form, read into ``Asked`` or refused with one sentence."""

from __future__ import annotations

import re
from dataclasses import replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError, LengthError
from firstpiece.units import format_length, parse_length_mm
from firstpiece.web.job_folder import Asked

if TYPE_CHECKING:
    from collections.abc import Mapping

    from firstpiece.files.material_card import CardDrawer
    from firstpiece.web.job_folder import Object

LOWEST_MM, HIGHEST_MM = 8.0, 600.0
MOST_PIECES = 100_000
MOST_COLORS = 32
MOST_HEIGHTS, MOST_QUANTITIES = 8, 8


def read_asked(fields: Mapping[str, str], cards: CardDrawer) -> Asked:
    """Return what a form asks for.

    Parameters
    ----------
    fields : mapping of str to str
        ``height``, ``garment``, ``thread``, ``quantity``, ``n_colors``; missing ones take defaults.
    cards : CardDrawer
        Cards that may be named.

    Raises
    ------
    InputError
        One sentence about the first field that cannot be used.
    """
    text = fields.get("height", "").strip() or "90 mm"
    garment = fields.get("garment", "") or cards.default_garment
    thread = fields.get("thread", "")
    cards.setup(garment, thread=thread)
    return Asked(
        height_mm=read_height_mm(text),
        height_text=_shown_height(text),
        garment=garment,
        thread=thread,
        quantity=_whole(fields.get("quantity", "") or "1", most=MOST_PIECES, of=_("pieces")),
        n_colors=_colors(fields.get("n_colors", "")),
    )


def read_height_mm(text: str) -> float:
    """Return a height in millimetres; a bare number is millimetres.

    Raises
    ------
    LengthError
        When it is not a length, or not one that is sewn.
    """
    height_mm = round(parse_length_mm(text, default_unit="mm"), 3)
    if not LOWEST_MM <= height_mm <= HIGHEST_MM:
        raise LengthError(
            _("a height of {height} cannot be sewn").format(height=format_length(height_mm)),
            remedy=_("choose one from {low} to {high}").format(
                low=format_length(LOWEST_MM), high=format_length(HIGHEST_MM)
            ),
        )
    return height_mm


def read_heights_mm(text: str) -> tuple[float, ...]:
    """Return the heights of a list like ``60, 90, 120 mm`` or ``3 in, 5 in``, rising.

    Raises
    ------
    InputError
        When the list is empty or too long, or one of them is no height.
    """
    parts = _list_items(text, most=MOST_HEIGHTS, of=_("heights"))
    return tuple(sorted({read_height_mm(part) for part in parts}))


def read_quantities(text: str) -> tuple[int, ...]:
    """Return the numbers of pieces of a list like ``1, 12, 48``, rising."""
    parts = _list_items(text, most=MOST_QUANTITIES, of=_("numbers of pieces"))
    return tuple(sorted({_whole(part, most=MOST_PIECES, of=_("pieces")) for part in parts}))


def apply_remedy(asked: Asked, remedy: Object) -> Asked | None:
    """Return what to ask for instead when a remedy is taken, or None when a person must do it.

    Parameters
    ----------
    asked : Asked
    remedy : dict
        ``action``, ``region_id``, ``value`` as written in the result.
    """
    action, value = remedy["action"], remedy["value"]
    if value is None:
        return None
    if action == "height":
        height_mm = float(value)
        return replace(asked, height_mm=height_mm, height_text=format_length(height_mm))
    if action == "garment":
        return replace(asked, garment=str(value))
    if action == "thread":
        return replace(asked, thread=str(value))
    if action == "spacing" and remedy["region_id"] >= 0:
        kept = [p for p in asked.row_spacing_mm if p[0] != remedy["region_id"]]
        pairs = sorted([*kept, (int(remedy["region_id"]), float(value))])
        return replace(asked, row_spacing_mm=tuple(pairs))
    return None


def _shown_height(text: str) -> str:
    return f"{text} mm" if re.fullmatch(r"[\d.,]+", text) else text


def _list_items(text: str, *, most: int, of: str) -> list[str]:
    parts = [p.strip() for p in re.split(r"[;,\n]+(?!\d{1,2}\s*(?:in|cm)\b)", text) if p.strip()]
    if not 1 <= len(parts) <= most:
        raise InputError(
            _("give 1 to {most} {of}").format(most=most, of=of),
            remedy=_("put a comma between them"),
        )
    return parts


def _whole(text: str, *, most: int, of: str) -> int:
    plain = text.strip()
    if not (plain.isascii() and plain.isdecimal()) or not 1 <= int(plain) <= most:
        raise InputError(
            _("“{text}” is not a number of {of}").format(text=plain[:20], of=of),
            remedy=_("give a whole number from 1 to {most}").format(most=most),
        )
    return int(plain)


def _colors(text: str) -> int | None:
    return _whole(text, most=MOST_COLORS, of=_("colours")) if text.strip() else None
