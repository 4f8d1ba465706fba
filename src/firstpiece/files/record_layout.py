"""A shop's own description of its machine's byte records: a TOML file read and checked.

A layout names the step, the directions, header and footer fields, and the forms a record may take.
Each form is a bit pattern: ``0`` and ``1`` are fixed, ``x``, ``y`` and ``t`` carry the move and the
thread, most significant first, ``-`` is written 0 and ignored. Faults are told with their line.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from firstpiece.errors import LayoutError
from firstpiece.files.record_fields import ByteField, fields_length, read_byte_fields
from firstpiece.files.record_number import BitNumber, read_bit_number
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_FORM_BYTES = 64
MOST_FORMS = 64

Table = dict[str, Any]


@dataclass(frozen=True, slots=True)
class RecordForm:
    """One form of record: what it means, its fixed bits, and the numbers it carries.

    ``mask`` and ``fixed`` hold one byte each per byte of the record; ``numbers`` maps ``x``, ``y``
    and ``t`` to how they are written.
    """

    action: Action
    mask: bytes
    fixed: bytes
    numbers: dict[str, BitNumber]
    line: int

    @property
    def length(self) -> int:
        """Bytes of the record."""
        return len(self.mask)

    @property
    def moves(self) -> bool:
        """True when the record carries both x and y."""
        return "x" in self.numbers and "y" in self.numbers

    def can_move(self, dx: NDArray[np.int64], dy: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return (n,) bool: the moves (n,) int64 [steps] that this form can express."""
        if not self.moves:
            still: NDArray[np.bool_] = (dx == 0) & (dy == 0)
            return still
        return self.numbers["x"].can_write(dx) & self.numbers["y"].can_write(dy)


@dataclass(frozen=True, slots=True)
class RecordLayout:
    """A checked layout.

    ``step_mm`` is the unit of a move; ``x_sign`` and ``y_sign`` turn our right and up into the
    machine's directions; ``is_absolute`` tells that records hold positions, not moves.
    """

    name: str
    step_mm: float
    x_sign: int
    y_sign: int
    is_absolute: bool
    header: tuple[ByteField, ...]
    forms: tuple[RecordForm, ...]
    footer: tuple[ByteField, ...]
    lines: dict[str, int] = field(default_factory=dict, compare=False)

    def forms_for(self, action: Action) -> tuple[RecordForm, ...]:
        """Return the forms of an action, shortest first."""
        found = [f for f in self.forms if f.action == action]
        return tuple(sorted(found, key=lambda f: f.length))

    def longest_move(self, action: Action) -> int:
        """Return the largest L such that every move with |x|, |y| ≤ L can be written [steps]."""
        reach = [
            min(f.numbers["x"].reach, f.numbers["y"].reach)
            for f in self.forms_for(action)
            if f.moves
        ]
        return max(reach, default=0)


def read_layout(text: str, *, name: str = "layout") -> RecordLayout:
    """Return the layout that a TOML text describes.

    Raises
    ------
    LayoutError
        With the line at fault: not TOML, unknown or missing entries, bits that overlap or do not
        fill whole bytes, numbers that reach nothing, forms that cannot be told apart, an action
        that a plan needs and no form expresses.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        msg = f"this is not valid TOML ({fault})"
        raise LayoutError(msg, where=name, remedy="mend that line") from fault
    lines = _table_lines(text)
    head = table.get("layout")
    if not isinstance(head, dict):
        msg = "there is no [layout] table"
        raise LayoutError(msg, where=name, remedy="begin with [layout] and a step_mm")
    place = f"{name}, line {lines.get('layout:0', 1)}"
    _only(table, {"layout", "header", "record", "footer"}, name)
    _only(head, {"name", "step_mm", "x", "y", "moves"}, place)
    layout = RecordLayout(
        name=str(head.get("name", name)),
        step_mm=_step(head, place),
        x_sign=_sign(head.get("x", "right"), ("right", "left"), place),
        y_sign=_sign(head.get("y", "up"), ("up", "down"), place),
        is_absolute=_sign(head.get("moves", "relative"), ("relative", "absolute"), place) < 0,
        header=read_byte_fields(table.get("header", []), _places(name, "header", lines)),
        forms=tuple(
            _read_form(entry, line, f"{name}, line {line}")
            for entry, line in zip(
                _list(table, "record", name), _lines_of("record", lines), strict=False
            )
        ),
        footer=read_byte_fields(table.get("footer", []), _places(name, "footer", lines)),
        lines=lines,
    )
    fields_length(layout.header)
    fields_length(layout.footer)
    _check_forms(layout, name)
    return layout


def _table_lines(text: str) -> dict[str, int]:
    """Return the line of each table: ``record:2`` is the third [[record]]."""
    seen: dict[str, int] = {}
    lines: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if match := re.match(r"\s*\[\[?\s*([\w-]+)\s*\]\]?\s*(#.*)?$", line):
            count = seen.get(match[1], 0)
            lines[f"{match[1]}:{count}"] = number
            seen[match[1]] = count + 1
    return lines


def _lines_of(kind: str, lines: dict[str, int]) -> list[int]:
    found = [lines[key] for key in lines if key.startswith(f"{kind}:")]
    return found + [1] * (MOST_FORMS + 1 - len(found))


def _places(name: str, kind: str, lines: dict[str, int]) -> list[str]:
    return [f"{name}, line {line}" for line in _lines_of(kind, lines)]


def _list(table: Table, key: str, name: str) -> list[Table]:
    entries = table.get(key, [])
    if not isinstance(entries, list) or not all(isinstance(e, dict) for e in entries):
        msg = f"{key} must be written as [[{key}]] tables"
        raise LayoutError(msg, where=name, remedy=f"write [[{key}]] before each one")
    if len(entries) > MOST_FORMS:
        msg = f"{len(entries)} {key} tables are more than {MOST_FORMS}"
        raise LayoutError(msg, where=name, remedy="describe fewer")
    return entries


def _only(table: Table, known: set[str], where: str) -> None:
    if unknown := sorted(set(table) - known):
        msg = f"“{unknown[0]}” is not an entry known here"
        raise LayoutError(msg, where=where, remedy=f"use: {', '.join(sorted(known))}")


def _step(head: Table, place: str) -> float:
    step = head.get("step_mm")
    if not isinstance(step, int | float) or isinstance(step, bool) or not 1e-4 <= step <= 10:
        msg = "step_mm must be a number of millimetres from 0.0001 to 10"
        raise LayoutError(msg, where=place, remedy="write step_mm = 0.1 for tenths of a millimetre")
    return float(step)


def _sign(word: object, pair: tuple[str, str], place: str) -> int:
    if word not in pair:
        msg = f"“{word}” is neither {pair[0]} nor {pair[1]}"
        raise LayoutError(msg, where=place, remedy=f"write {pair[0]} or {pair[1]}")
    return 1 if word == pair[0] else -1


def _read_form(entry: Table, line: int, place: str) -> RecordForm:
    """Read one [[record]] table."""
    _only(entry, {"action", "pattern", "x", "y", "t", "note"}, place)
    words = {a.word: a for a in Action}
    if entry.get("action") not in words:
        msg = f"“{entry.get('action')}” is not an action"
        raise LayoutError(msg, where=place, remedy=f"use one of: {', '.join(words)}")
    bits = re.sub(r"[\s|]", "", str(entry.get("pattern", "")))
    if not bits or re.search(r"[^01xyt-]", bits):
        msg = "a pattern is written with 0, 1, x, y, t and -, with blanks between bytes"
        raise LayoutError(msg, where=place, remedy='write it like "0xxxxxxx 0yyyyyyy"')
    if len(bits) % 8 or len(bits) > 8 * MOST_FORM_BYTES:
        msg = f"{len(bits)} bits do not make whole bytes (1 to {MOST_FORM_BYTES})"
        raise LayoutError(msg, where=place, remedy="add or remove bits; pad with -")
    if ("x" in bits) != ("y" in bits):
        msg = "a record carries both x and y or neither"
        raise LayoutError(msg, where=place, remedy="give the other one its bits")
    numbers = {}
    for letter in "xyt":
        places = tuple((i // 8, 7 - i % 8) for i, bit in enumerate(bits) if bit == letter)
        if places:
            numbers[letter] = read_bit_number(places, entry.get(letter), place)
        elif letter in entry:
            msg = f"{letter} is described but the pattern has no {letter} bits"
            raise LayoutError(msg, where=place, remedy="add them to the pattern")
    mask = int("".join("1" if b in "01" else "0" for b in bits), 2)
    fixed = int("".join("1" if b == "1" else "0" for b in bits), 2)
    size = len(bits) // 8
    return RecordForm(
        words[entry["action"]], mask.to_bytes(size), fixed.to_bytes(size), numbers, line
    )


def _check_forms(layout: RecordLayout, name: str) -> None:
    """Refuse layouts that cannot express a plan or whose records cannot be told apart."""
    if not layout.forms_for(Action.STITCH):
        msg = "no [[record]] has action = “stitch”"
        raise LayoutError(msg, where=name, remedy="describe the record of a stitch")
    for action in (Action.STITCH, Action.JUMP):
        if layout.forms_for(action) and layout.longest_move(action) < 1:
            line = layout.forms_for(action)[0].line
            msg = f"the {action.word} records cannot express a move of one step in each direction"
            raise LayoutError(msg, where=f"{name}, line {line}", remedy="give x and y more bits")
    for i, first in enumerate(layout.forms):
        for second in layout.forms[i + 1 :]:
            if not _differ(first, second):
                msg = f"this record cannot be told from the one in line {first.line}"
                place = f"{name}, line {second.line}"
                raise LayoutError(msg, where=place, remedy="let a fixed bit differ")


def _differ(first: RecordForm, second: RecordForm) -> bool:
    """Return whether some bit fixed in both differs, so no bytes match both."""
    return any(
        m1 & m2 & (f1 ^ f2)
        for m1, m2, f1, f2 in zip(first.mask, second.mask, first.fixed, second.fixed, strict=False)
    )
