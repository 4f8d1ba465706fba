"""A shop's own description of its machine's byte records: a TOML file read and checked.

A layout names the step, the directions, header and footer fields, and the forms a record may take
(``record_form``). Records are whole bytes, or nibbles packed two to a byte. Faults are told with
their line, all of them at once where that is asked for.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import TYPE_CHECKING, Any, TypeVar

from firstpiece.errors import LayoutError
from firstpiece.files.layout_lines import LayoutLines, TablePlace, find_lines
from firstpiece.files.record_fields import ByteField, fields_length, read_byte_field
from firstpiece.files.record_form import RecordForm, are_distinct, find_clash, read_form
from firstpiece.model.stitch import Action

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_TABLES = 64
HEAD_ENTRIES = ("name", "step_mm", "x", "y", "moves", "cells", "ending")

Table = dict[str, Any]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class RecordLayout:
    """A checked layout.

    ``step_mm`` is the unit of a move; ``x_sign`` and ``y_sign`` turn our right and up into the
    machine's directions; ``is_absolute`` tells that records hold positions, not moves;
    ``cell_bits`` is 8 for records of bytes, 4 for nibbles; ``ending`` is that of its files.
    ``forms`` are in the order in which
    bytes are held against them.
    """

    name: str
    step_mm: float
    x_sign: int
    y_sign: int
    is_absolute: bool
    cell_bits: int
    header: tuple[ByteField, ...]
    forms: tuple[RecordForm, ...]
    footer: tuple[ByteField, ...]
    ending: str = "bin"

    def forms_for(self, action: Action) -> tuple[RecordForm, ...]:
        """Return the forms of an action, shortest first."""
        found = [f for f in self.forms if f.action == action]
        return tuple(sorted(found, key=lambda f: f.length))

    def longest_move(self, action: Action) -> int:
        """Return the largest L such that every move with |x|, |y| ≤ L can be written [steps]."""
        return max((f.reach for f in self.forms_for(action)), default=0)


class _Reader:
    """Reads a layout table by table and keeps the faults, so that all can be told at once."""

    def __init__(self, lines: LayoutLines) -> None:
        self.lines = lines
        self.faults: list[LayoutError] = []

    def take(self, read: Callable[[], T]) -> T | None:
        """Return what ``read`` gives, or None after keeping its fault."""
        try:
            return read()
        except LayoutError as fault:
            self.faults.append(fault)
            return None

    def refuse(self, what: str, where: str, remedy: str) -> None:
        """Keep a fault."""
        self.faults.append(LayoutError(what, where=where, remedy=remedy))


def read_layout(text: str, *, name: str = "layout") -> RecordLayout:
    """Return the layout that a TOML text describes.

    Raises
    ------
    LayoutError
        With the line at fault: not TOML, unknown or missing entries, bits that overlap or do not
        fill whole bytes, numbers that reach nothing, forms that cannot be told apart, an action
        that a plan needs and no form expresses.
    """
    layout, faults = _read(text, name)
    if layout is None:
        raise faults[0]
    return layout


def layout_faults(text: str, *, name: str = "layout") -> tuple[LayoutError, ...]:
    """Return every fault of a layout in the order of its lines; none when it can be used."""
    return _read(text, name)[1]


def _read(text: str, name: str) -> tuple[RecordLayout | None, tuple[LayoutError, ...]]:
    reader = _Reader(find_lines(text, name))
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        what = _("this is not valid TOML ({fault})").format(fault=fault)
        reader.refuse(what, name, _("mend that line"))
        return None, tuple(reader.faults)
    head = reader.take(lambda: _read_head(table.get("layout"), reader.lines))
    known = {"layout", "header", "record", "footer"}
    for unknown in sorted(set(table) - known):
        reader.refuse(
            _("“{word}” is not a table known here").format(word=unknown),
            reader.lines.place(unknown, 0),
            _("use: {words}").format(words=", ".join(sorted(known))),
        )
    header = _read_fields(table, "header", reader)
    footer = _read_fields(table, "footer", reader)
    cell_bits = head.cell_bits if head else 8
    forms = [
        form
        for i, entry in enumerate(_tables(table, "record", reader))
        if (form := _read_form(reader, entry, i, cell_bits))
    ]
    if reader.faults or head is None:
        return None, tuple(reader.faults)
    # An escape is looked for first, whatever its place in the text.
    forms.sort(key=lambda form: not form.is_escape)
    layout = replace(head, header=header, footer=footer, forms=_keep_apart(forms, reader))
    _check_forms(layout, reader)
    return (None, tuple(reader.faults)) if reader.faults else (layout, ())


def _read_form(reader: _Reader, entry: Table, i: int, cell_bits: int) -> RecordForm | None:
    return reader.take(lambda: read_form(entry, TablePlace(reader.lines, "record", i), cell_bits))


def _read_head(head: object, lines: LayoutLines) -> RecordLayout:
    """Return a layout that has no records yet from the [layout] table."""
    if not isinstance(head, dict):
        raise LayoutError(
            _("there is no [layout] table"),
            where=lines.name,
            remedy=_("begin with [layout] and a step_mm"),
        )
    place = TablePlace(lines, "layout", 0)
    if unknown := sorted(set(head) - set(HEAD_ENTRIES)):
        raise LayoutError(
            _("“{word}” is not an entry known here").format(word=unknown[0]),
            where=place(unknown[0]),
            remedy=_("use: {words}").format(words=", ".join(HEAD_ENTRIES)),
        )
    step = head.get("step_mm")
    if not isinstance(step, int | float) or isinstance(step, bool) or not 1e-4 <= step <= 10:
        raise LayoutError(
            _("step_mm must be a number of millimetres from 0.0001 to 10"),
            where=place("step_mm"),
            remedy=_("write step_mm = 0.1 for tenths of a millimetre"),
        )
    ending = str(head.get("ending", "bin"))
    if not re.fullmatch(r"[A-Za-z0-9]{1,8}", ending):
        raise LayoutError(
            _("“{word}” is not a file's ending").format(word=ending),
            where=place("ending"),
            remedy=_("write one to eight letters or digits, without the dot"),
        )
    return RecordLayout(
        ending=ending,
        name=str(head.get("name", lines.name)),
        step_mm=float(step),
        x_sign=_sign(head, "x", ("right", "left"), place),
        y_sign=_sign(head, "y", ("up", "down"), place),
        is_absolute=_sign(head, "moves", ("relative", "absolute"), place) < 0,
        cell_bits=8 if _sign(head, "cells", ("bytes", "nibbles"), place) > 0 else 4,
        header=(),
        forms=(),
        footer=(),
    )


def _sign(head: Table, entry: str, pair: tuple[str, str], place: TablePlace) -> int:
    """Return 1 for the first word of a pair, which also stands for a missing one, else -1."""
    word = head.get(entry, pair[0])
    if word not in pair:
        raise LayoutError(
            _("“{word}” is neither {first} nor {second}").format(
                word=word, first=pair[0], second=pair[1]
            ),
            where=place(entry),
            remedy=_("write {first} or {second}").format(first=pair[0], second=pair[1]),
        )
    return 1 if word == pair[0] else -1


def _tables(table: Table, kind: str, reader: _Reader) -> list[Table]:
    entries = table.get(kind, [])
    if not isinstance(entries, list) or not all(isinstance(e, dict) for e in entries):
        reader.refuse(
            _("{kind} must be written as [[{kind}]] tables").format(kind=kind),
            reader.lines.place(kind, 0),
            _("write [[{kind}]] before each one").format(kind=kind),
        )
        return []
    if len(entries) > MOST_TABLES:
        reader.refuse(
            _("{n} {kind} tables are more than {most}").format(
                n=len(entries), kind=kind, most=MOST_TABLES
            ),
            reader.lines.place(kind, MOST_TABLES),
            _("describe fewer"),
        )
    return entries[:MOST_TABLES]


def _read_fields(table: Table, kind: str, reader: _Reader) -> tuple[ByteField, ...]:
    fields = []
    for i, entry in enumerate(_tables(table, kind, reader)):
        place = TablePlace(reader.lines, kind, i)
        field = reader.take(lambda e=entry, p=place: read_byte_field(e, p))  # type: ignore[misc]
        if field is not None:
            fields.append(field)
    reader.take(lambda: fields_length(fields))
    return tuple(fields)


def _keep_apart(forms: list[RecordForm], reader: _Reader) -> tuple[RecordForm, ...]:
    """Return the forms with the moves that would look like an escape; refuse what cannot be."""
    kept = []
    for i, form in enumerate(forms):
        clashes = []
        for other in forms[:i]:
            if are_distinct(other, form):
                continue
            clash = find_clash(form, other) if other.is_escape and not form.is_escape else None
            if clash is None:
                reader.refuse(
                    _("this record cannot be told from the one in line {line}").format(
                        line=other.line
                    ),
                    _("{name}, line {line}").format(name=reader.lines.name, line=form.line),
                    _("let a fixed bit differ"),
                )
            elif clash:
                clashes.append(clash)
        kept.append(replace(form, clashes=tuple(clashes)))
    return tuple(kept)


def _check_forms(layout: RecordLayout, reader: _Reader) -> None:
    """Refuse layouts that cannot express a plan or whose end cannot be found."""
    name = reader.lines.name
    if not layout.forms_for(Action.STITCH):
        reader.refuse(
            _("no [[record]] has action = “stitch”"), name, _("describe the record of a stitch")
        )
    for action in (Action.STITCH, Action.JUMP):
        if layout.forms_for(action) and layout.longest_move(action) < 1:
            line = layout.forms_for(action)[0].line
            reader.refuse(
                _("the {word} records cannot express a move of one step in each direction").format(
                    word=action.word
                ),
                _("{name}, line {line}").format(name=name, line=line),
                _("give x and y more bits"),
            )
    odd = layout.cell_bits == 4 and any(f.length % 2 for f in layout.forms)
    if odd and not layout.forms_for(Action.END):
        reader.refuse(
            _("records of an odd number of nibbles need an end record"),
            name,
            _("add a [[record]] for end"),
        )
