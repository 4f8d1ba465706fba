"""Building a record layout step by step: fields to TOML, a small sample to bytes with meanings.

In: what a person filled in, or the text of a layout. Out: the text, every fault with its line, and
a hex view. No clock, no files: a page or a command shows it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import TYPE_CHECKING, Any

import numpy as np

from firstpiece.errors import LayoutError
from firstpiece.files.record_layout import RecordLayout, layout_faults, read_layout
from firstpiece.files.record_program import write_program
from firstpiece.files.record_reading import record_spans
from firstpiece.model.material import ThreadColor
from firstpiece.model.stitch import Action, StitchPlan

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Entry = dict[str, Any]


@dataclass(frozen=True, slots=True)
class LayoutDraft:
    """What a person has filled in so far.

    ``head`` holds the entries of [layout]; ``header``, ``records`` and ``footer`` one mapping for
    each table, in order. Entries that are empty are left out.
    """

    head: Mapping[str, Any]
    records: Sequence[Mapping[str, Any]] = field(default=())
    header: Sequence[Mapping[str, Any]] = field(default=())
    footer: Sequence[Mapping[str, Any]] = field(default=())


@dataclass(frozen=True, slots=True)
class HexGroup:
    """Bytes that belong together: their offset, the bytes, what they are."""

    offset: int
    data: bytes
    meaning: str

    @property
    def hex(self) -> str:
        """The bytes in hex with blanks between."""
        return self.data.hex(" ")


@dataclass(frozen=True, slots=True)
class LayoutView:
    """A layout's text, its faults in the order of lines, and the sample's bytes when it is well."""

    text: str
    faults: tuple[LayoutError, ...]
    groups: tuple[HexGroup, ...]


def write_draft(draft: LayoutDraft) -> str:
    """Return the TOML text of what was filled in."""
    lines = ["[layout]", *_entries(draft.head)]
    for kind, tables in (
        ("header", draft.header), ("record", draft.records), ("footer", draft.footer),
    ):  # fmt: skip
        for table in tables:
            lines += ["", f"[[{kind}]]", *_entries(table)]
    return "\n".join(lines) + "\n"


def _entries(table: Mapping[str, Any]) -> list[str]:
    return [f"{key} = {_value(v)}" for key, v in table.items() if v not in ("", None)]


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    return json.dumps(str(value), ensure_ascii=False)


def view_draft(draft: LayoutDraft) -> LayoutView:
    """Return what a draft gives; see ``view_layout``."""
    return view_layout(write_draft(draft))


def view_layout(text: str, *, name: str = "") -> LayoutView:
    """Return a layout's faults and the bytes of a small sample.

    A layout that is well by itself may still not carry the sample: that is a fault too.
    """
    name = name or _("layout")
    faults = layout_faults(text, name=name)
    if faults:
        return LayoutView(text, faults, ())
    layout = read_layout(text, name=name)
    try:
        groups = hex_view(layout)
    except LayoutError as fault:
        return LayoutView(text, (fault,), ())
    return LayoutView(text, (), groups)


def sample_plan(layout: RecordLayout) -> StitchPlan:
    """Return a few stitches that show every record: short and long moves, trim, change, stop, end.

    Actions that the layout has no record for are left out.
    """
    rows = [
        (0.0, 0.0, Action.STITCH, 0), (2.0, 0.0, Action.STITCH, 0), (2.0, -1.5, Action.STITCH, 0),
        (2.0, -1.5, Action.TRIM, 0), (14.0, 9.0, Action.JUMP, 0), (14.0, 9.0, Action.STITCH, 0),
        (12.6, 9.3, Action.STITCH, 0), (12.6, 9.3, Action.COLOR_CHANGE, 1),
        (12.6, 9.3, Action.STITCH, 1), (10.0, 9.0, Action.STITCH, 1), (10.0, 9.0, Action.STOP, 1),
        (10.0, 9.0, Action.END, 1),
    ]  # fmt: skip
    rows = [row for row in rows if layout.forms_for(row[2])]
    places = np.array([row[:2] for row in rows], dtype=np.float64)
    if not layout.forms_for(Action.JUMP):
        # Nothing can be split, so the sample keeps within one record.
        moves = places if layout.is_absolute else np.diff(places, axis=0, prepend=0.0)
        # One step less than can be written: rounding both ends may lengthen a move by one.
        reach = max(layout.longest_move(Action.STITCH) - 1, 0.5) * layout.step_mm
        places *= min(1.0, reach / max(float(np.abs(moves).max()), 1e-9))
    threads = (ThreadColor("leaf", (47, 115, 53), 26.7), ThreadColor("poppy", (212, 42, 36), 26.7))
    return StitchPlan(
        xy_mm=places,
        action=np.array([row[2] for row in rows], dtype=np.uint8),
        thread=np.array([row[3] for row in rows], dtype=np.int16),
        region_id=np.full(len(rows), -1, dtype=np.int32),
        role=np.zeros(len(rows), dtype=np.uint8),
        threads=threads,
    )


def hex_view(layout: RecordLayout) -> tuple[HexGroup, ...]:
    """Return the sample's bytes in groups: header fields, records, footer fields.

    Raises
    ------
    LayoutError
        When the layout cannot carry the sample.
    """
    data = write_program(sample_plan(layout), layout, name="sample")
    groups, at = [], 0
    for part in layout.header:
        end = part.length if part.kind == "fill" else at + part.length
        groups.append(HexGroup(at, data[at:end], _field_words(part.kind, part.source)))
        at = end
    spans = record_spans(data, layout)
    groups += [HexGroup(s.offset, data[s.offset : s.end], s.words) for s in spans]
    at = spans[-1].end if spans else at
    for part in layout.footer:
        end = at + part.length if part.kind != "fill" else len(data)
        groups.append(HexGroup(at, data[at:end], _field_words(part.kind, part.source)))
        at = end
    return tuple(groups)


def _field_words(kind: str, source: str) -> str:
    """Return what a header or footer field is."""
    words = {
        "literal": _("always these bytes"),
        "text": _("{value}, as text"),
        "integer": _("{value}, as a number"),
        "fill": _("filled up"),
        "checksum": _("checksum ({value})"),
    }
    return words[kind].format(value=source)


TEMPLATE = """# A record layout: how your machine writes a design, byte by byte.
# Fill it in from the machine's own manual, then run: firstpiece layout check FILE
# Everything after a # is a remark.

[layout]
name = "our machine"
step_mm = 0.1          # how far one step of a move is
x = "right"            # or "left": where x grows on the machine
y = "up"               # or "down"
moves = "relative"     # or "absolute": records hold places, not moves
cells = "bytes"        # or "nibbles": records are packed by half bytes
ending = "bin"         # ending of the files it reads

# Bytes before the records, in order. Each [[header]] has one of: text, hex, value, fill, checksum.
[[header]]
text = "START"

[[header]]
value = "stitches"     # counted by Firstpiece; see docs/record-layouts.md for all values
form = "text"          # or "integer"
bytes = 7
pad = "0"

[[header]]
fill = "20"            # this byte, up to the offset
to = 16

# The records. In a pattern 0 and 1 are fixed bits; x, y and t carry the move and the thread, the
# most significant bit first; - is not used. Each needs as many bits as fill whole bytes.
[[record]]
action = "stitch"
pattern = "0xxxxxxx 0yyyyyyy"
x = "two's complement" # or "sign and size", "offset", "one's complement", or one weight per bit
y = "two's complement"

[[record]]
action = "jump"
pattern = "1000xxxx xxxxxxxx 0000yyyy yyyyyyyy"

[[record]]
action = "trim"
pattern = "11000001 00000000"

[[record]]
action = "color_change"
pattern = "11000010 tttttttt"
t = "unsigned"

[[record]]
action = "stop"
pattern = "11000011 00000000"

[[record]]
action = "end"
pattern = "11111111 11111111"

# Bytes after the records.
[[footer]]
checksum = "sum"       # or "xor", "crc16", "crc32"
over = "records"       # or "before": everything before it
bytes = 2
"""


def layout_template() -> str:
    """Return a commented layout to be filled in; it is invented and works as it stands."""
    return TEMPLATE
