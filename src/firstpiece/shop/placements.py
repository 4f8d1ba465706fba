"""The shop's placement table: where designs go by garment kind, place and size, looked at, changed.

Input: millimetres as typed. Output: the shop's own ``placements.toml``, laid over the shipped one;
a place that was changed is written there whole, with every size it has.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import InputError
from firstpiece.files.placement_table import (
    FILE,
    own_placements,
    read_placements,
    write_placements,
)
from firstpiece.files.safe_write import write_together
from firstpiece.model.measured import Measured
from firstpiece.model.placement import ANY_SIZE, Placement
from firstpiece.model.plain_text import clean_line
from firstpiece.shop.cards import open_cards
from firstpiece.store.home import cards_folder

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST_MM = 2000.0
DOWN, ACROSS = "{down}", "{across}"


@dataclass(frozen=True, slots=True)
class PlaceEntry:
    """A place and size as typed.

    Parameters
    ----------
    kind, place : str
        Kind of garment and the place's name.
    size : str
        Empty for every size without its own.
    down_mm : float or None [mm]
        None leaves it as it is.
    across_mm : float or None [mm]
    label, sentence : str
        Empty leaves them; a new place needs both, the sentence with ``{down}`` in it.
    """

    kind: str
    place: str
    size: str = ""
    down_mm: float | None = None
    across_mm: float | None = None
    label: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class KnownPlace:
    """A place of the table; ``is_own`` tells that the shop's own file has it."""

    placement: Placement
    is_own: bool


def list_placements() -> tuple[KnownPlace, ...]:
    """Return all places, the shop's own in place of shipped ones.

    Raises
    ------
    CardError
        When a table is wrong.
    """
    own = {(p.kind, p.place) for p in own_placements(cards_folder())}
    return tuple(
        KnownPlace(p, (p.kind, p.place) in own) for p in read_placements(cards_folder()).placements
    )


def put_placement(entry: PlaceEntry) -> Placement:
    """Write a place, or one size of it, into the shop's own table.

    Raises
    ------
    InputError, CardError, OutputError
    """
    kind, place = _name(entry.kind, _("kind of garment")), _name(entry.place, _("place"))
    _check_kind(kind)
    known = read_placements(cards_folder()).of_kind(kind)
    before = next((p for p in known if p.place == place), None)
    new = _changed(before, replace(entry, kind=kind, place=place))
    own = [p for p in own_placements(cards_folder()) if (p.kind, p.place) != (kind, place)]
    _write((*own, new))
    return new


def remove_placement(kind: str, place: str, *, size: str = "") -> None:
    """Take a place, or one size of it, out of the shop's own table; the shipped one holds again.

    Raises
    ------
    InputError
        When it is not in the shop's own table.
    """
    own = own_placements(cards_folder())
    found = next((p for p in own if (p.kind, p.place) == (kind, place)), None)
    if found is None or (size and size not in found.down_mm):
        raise InputError(
            _("this place is not in the shop's own table"),
            where=", ".join(text for text in (kind, place, size) if text),
            remedy=_("only own places can be taken out"),
        )
    kept = [p for p in own if p is not found]
    rest = {name: value for name, value in found.down_mm.items() if name != size}
    if size and rest:
        across = {name: value for name, value in found.across_mm.items() if name != size}
        kept.append(replace(found, down_mm=rest, across_mm=across))
    _write(tuple(kept))


def _changed(before: Placement | None, entry: PlaceEntry) -> Placement:
    size = clean_line(entry.size, where=_("size"), most=20) or ANY_SIZE
    size = size.upper() if size != ANY_SIZE else size
    down = _with(before.down_mm if before else {}, size, entry.down_mm)
    across = _with(before.across_mm if before else {}, size, entry.across_mm)
    label = clean_line(entry.label, where=_("label"), most=80) or (before.label if before else "")
    words = clean_line(entry.sentence, where=_("sentence")) or (before.sentence if before else "")
    if not label or not down or DOWN not in words or (across and ACROSS not in words):
        raise InputError(
            _("a new place needs a label, millimetres, and a sentence with {down} in it").format(
                down=DOWN
            ),
            where=f"{entry.kind}, {entry.place}",
            remedy=_("write it like “Centred, {down} below the collar seam”").format(down=DOWN),
        )
    return Placement(entry.kind, entry.place, label, _checked(words), down, across)


def _with(table: Mapping[str, Measured], size: str, value_mm: float | None) -> dict[str, Measured]:
    if value_mm is None:
        return dict(table)
    if not 0 <= value_mm <= MOST_MM:
        raise InputError(
            _("{value:g} mm is not a place on a garment").format(value=value_mm),
            remedy=_("give 0 to {most:.0f} mm").format(most=MOST_MM),
        )
    measured = Measured(value_mm, value_mm, value_mm, "mm", _("the shop's own"))
    return {**table, size: measured}


def _checked(sentence: str) -> str:
    """Return a sentence that can be filled in."""
    try:
        sentence.format(down="", across="")
    except (KeyError, IndexError, ValueError) as fault:
        raise InputError(
            _("the sentence has braces that mean nothing"),
            where=sentence[:60],
            remedy=_("use only {down} and {across}").format(down=DOWN, across=ACROSS),
        ) from fault
    return sentence


def _name(text: str, where: str) -> str:
    name = "-".join(clean_line(text, where=where, most=40).lower().split())
    if not name or not all(c.isalnum() or c in "-_" for c in name):
        raise InputError(_("“{text}” is not a name").format(text=text[:40]), where=where,
                         remedy=_("use letters, digits and dashes"))  # fmt: skip
    return name


def _check_kind(kind: str) -> None:
    cards = open_cards()
    kinds = sorted({cards.garment(name).kind for name in cards.names("garments")})
    if kind not in kinds:
        raise InputError(
            _("no garment card is of the kind “{kind}”").format(kind=kind),
            remedy=_("use one of {kinds}").format(kinds=", ".join(kinds)),
        )


def _write(placements: tuple[Placement, ...]) -> None:
    write_together(cards_folder(), {FILE: write_placements(placements).encode()})
