"""``placements.toml`` to placements: the shipped table with the shop's own laid over it."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from gettext import gettext as _
from importlib.resources import files as package_files
from typing import TYPE_CHECKING, Any

from firstpiece.errors import CardError
from firstpiece.model.measured import Measured
from firstpiece.model.placement import Placement

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

FILE = "placements.toml"


@dataclass(frozen=True, slots=True)
class PlacementTable:
    """All placements of a shop."""

    placements: tuple[Placement, ...]

    def of_kind(self, kind: str) -> tuple[Placement, ...]:
        """Return the places on a kind of garment, the usual one first."""
        return tuple(p for p in self.placements if p.kind == kind)

    def find(self, kind: str, place: str = "") -> Placement | None:
        """Return a place by its name or label, the usual one for an empty name, or None."""
        wanted = place.strip().casefold()
        known = self.of_kind(kind)
        if not wanted:
            return known[0] if known else None
        return next((p for p in known if wanted in (p.place, p.label.casefold())), None)


def read_placements(own_folder: Path | None = None) -> PlacementTable:
    """Return the shipped placements with those of a shop's folder in their place.

    Raises
    ------
    CardError
        When a file or an entry is wrong.
    """
    shipped = (package_files("firstpiece") / "data" / FILE).read_text("utf-8")
    table = _parse(shipped, FILE)
    for kind, places in _own_table(own_folder).items():
        table[kind] = {**table.get(kind, {}), **places}
    return PlacementTable(_placements(table))


def own_placements(own_folder: Path) -> tuple[Placement, ...]:
    """Return the placements of a shop's own file alone; none when it has no file."""
    return _placements(_own_table(own_folder))


def write_placements(placements: Iterable[Placement]) -> str:
    """Return the text of a placement table; read again it is the same."""
    lines = [_HEAD]
    for placed in placements:
        at = f"{_quoted(placed.kind)}.{_quoted(placed.place)}"
        lines += ["", f"[{at}]", f"label = {_quoted(placed.label)}"]
        lines.append(f"sentence = {_quoted(placed.sentence)}")
        for name, table in (("down", placed.down_mm), ("across", placed.across_mm)):
            if table:
                lines += [f"[{at}.{name}]", *(_size_line(size, m) for size, m in table.items())]
    return "\n".join(lines) + "\n"


_HEAD = "# Where designs go; written by Firstpiece, which keeps no other remarks in this file."


def _size_line(size: str, value: Measured) -> str:
    numbers = f"value = {value.value!r}, low = {value.low!r}, high = {value.high!r}"
    return (
        f"{_quoted(size)} = {{ {numbers}, unit = {_quoted(value.unit)}, "
        f"source = {_quoted(value.source)} }}"
    )


def _quoted(text: str) -> str:
    """Return a TOML basic string; JSON's escapes are among its own (TOML 1.0)."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _own_table(own_folder: Path | None) -> dict[str, dict[str, Any]]:
    own = own_folder / FILE if own_folder else None
    if own is None or not own.is_file():
        return {}
    return _parse(own.read_text("utf-8"), str(own))


def _placements(table: dict[str, dict[str, Any]]) -> tuple[Placement, ...]:
    return tuple(
        _placement(kind, place, entry)
        for kind, places in table.items()
        for place, entry in places.items()
    )


def _parse(text: str, where: str) -> dict[str, dict[str, Any]]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise CardError(
            _("the placement table is not valid TOML ({fault})").format(fault=fault),
            where=where,
            remedy=_("mend that line"),
        ) from fault


def _placement(kind: str, place: str, entry: Any) -> Placement:
    where = _("placement {kind}, {place}").format(kind=kind, place=place)
    try:
        return Placement(
            kind=kind,
            place=place,
            label=str(entry["label"]),
            sentence=str(entry["sentence"]),
            down_mm=_sizes(entry["down"]),
            across_mm=_sizes(entry.get("across", {})),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise CardError(
            _("{what} is missing or wrong").format(what=fault),
            where=where,
            remedy=_("give label, sentence and millimetres by size"),
        ) from fault


def _sizes(table: dict[str, Any]) -> dict[str, Measured]:
    return {
        size: Measured(float(n["value"]), float(n["low"]), float(n["high"]), str(n["unit"]),
                       str(n["source"]))
        for size, n in table.items()
    }  # fmt: skip
