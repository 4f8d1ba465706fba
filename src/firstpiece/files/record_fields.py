"""Header and footer bytes of a record layout: literals, computed values, filling, checksums.

Every field has a length that is known without the plan, so a reader can cut the header off.
"""

from __future__ import annotations

import binascii
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from firstpiece.errors import LayoutError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Table = dict[str, Any]

VALUES = (
    "name", "stitches", "records", "threads", "color_changes", "trims", "left", "right", "bottom",
    "top", "width", "height", "record_bytes", "file_bytes",
)  # fmt: skip
"""What a field may hold; extents are in steps from the start, never below zero."""

CHECKSUMS = ("sum", "xor", "crc16", "crc32")
MOST_FIELD_BYTES = 65_536


@dataclass(frozen=True, slots=True)
class ByteField:
    """One field: its kind (``literal``, ``text``, ``integer``, ``fill``, ``checksum``) and length.

    ``length`` is in bytes; for ``fill`` it is the offset to fill up to. ``source`` is the value's
    or checksum's name; ``pad`` the filling byte; ``side`` left or right for text; ``order``
    little or big; ``over`` what a checksum covers.
    """

    kind: str
    length: int
    place: str
    literal: bytes = b""
    source: str = ""
    pad: bytes = b" "
    side: str = "left"
    order: str = "little"
    is_signed: bool = False
    over: str = "records"


def read_byte_fields(entries: object, places: Sequence[str]) -> tuple[ByteField, ...]:
    """Return the fields of the [[header]] or [[footer]] tables of a layout.

    Raises
    ------
    LayoutError
        Naming the line of the table at fault.
    """
    if not isinstance(entries, list) or len(entries) >= len(places):
        msg = "header and footer are written as [[header]] and [[footer]] tables, 64 at most"
        raise LayoutError(msg, where=places[0], remedy="write [[header]] before each field")
    return tuple(_read_field(e, place) for e, place in zip(entries, places, strict=False))


def _read_field(entry: Table, place: str) -> ByteField:
    kinds = {"text": _text, "hex": _hex, "value": _value, "fill": _fill, "checksum": _checksum}
    found = [k for k in kinds if k in entry]
    if len(found) != 1:
        msg = f"a field has exactly one of {', '.join(kinds)}"
        raise LayoutError(msg, where=place, remedy="split it, or remove the others")
    return kinds[found[0]](dict(entry), place)


def _text(entry: Table, place: str) -> ByteField:
    _only(entry, {"text"}, place)
    try:
        data = str(entry["text"]).encode("ascii")
    except UnicodeEncodeError as fault:
        msg = "text may hold ASCII letters only"
        raise LayoutError(msg, where=place, remedy="write other bytes as hex") from fault
    return ByteField("literal", len(data), place, literal=data)


def _hex(entry: Table, place: str) -> ByteField:
    _only(entry, {"hex"}, place)
    try:
        data = bytes.fromhex(str(entry["hex"]))
    except ValueError as fault:
        msg = f"“{str(entry['hex'])[:30]}” is not bytes in hex"
        raise LayoutError(msg, where=place, remedy='write it like "0d 0a"') from fault
    return ByteField("literal", len(data), place, literal=data)


def _value(entry: Table, place: str) -> ByteField:
    _only(entry, {"value", "form", "bytes", "pad", "side", "order", "signed"}, place)
    source, form = entry["value"], entry.get("form", "text")
    if source not in VALUES:
        msg = f"“{source}” is not a value that can be computed"
        raise LayoutError(msg, where=place, remedy=f"use one of: {', '.join(VALUES)}")
    if form not in ("text", "integer") or (form == "integer" and source == "name"):
        msg = f"“{source}” cannot be written as “{form}”"
        raise LayoutError(msg, where=place, remedy="use text, or integer for a number")
    length = _whole(entry.get("bytes"), 1, 8 if form == "integer" else MOST_FIELD_BYTES, place)
    pad = str(entry.get("pad", " "))
    if len(pad) != 1 or not pad.isascii():
        msg = "pad is one ASCII character"
        raise LayoutError(msg, where=place, remedy='write pad = " " or pad = "0"')
    return ByteField(
        form, length, place, source=source, pad=pad.encode(),
        side=_word(entry.get("side", "left" if source == "name" else "right"),
                   ("left", "right"), place),
        order=_word(entry.get("order", "little"), ("little", "big"), place),
        is_signed=bool(entry.get("signed", False)),
    )  # fmt: skip


def _fill(entry: Table, place: str) -> ByteField:
    _only(entry, {"fill", "to"}, place)
    pad = _hex({"hex": entry["fill"]}, place).literal
    if len(pad) != 1:
        msg = "fill is one byte in hex"
        raise LayoutError(msg, where=place, remedy='write fill = "20"')
    return ByteField("fill", _whole(entry.get("to"), 1, MOST_FIELD_BYTES, place), place, pad=pad)


def _checksum(entry: Table, place: str) -> ByteField:
    _only(entry, {"checksum", "bytes", "order", "over"}, place)
    return ByteField(
        "checksum",
        _whole(entry.get("bytes", 1), 1, 8, place),
        place,
        source=_word(entry["checksum"], CHECKSUMS, place),
        order=_word(entry.get("order", "little"), ("little", "big"), place),
        over=_word(entry.get("over", "records"), ("records", "before"), place),
    )


def _only(entry: Table, known: set[str], place: str) -> None:
    if unknown := sorted(set(entry) - known):
        msg = f"“{unknown[0]}” does not belong to this field"
        raise LayoutError(msg, where=place, remedy=f"use: {', '.join(sorted(known))}")


def _whole(number: object, low: int, high: int, place: str) -> int:
    if not isinstance(number, int) or isinstance(number, bool) or not low <= number <= high:
        msg = f"a length must be a whole number from {low} to {high}"
        raise LayoutError(msg, where=place, remedy="mend the number")
    return number


def _word(word: object, known: tuple[str, ...], place: str) -> str:
    if word not in known:
        msg = f"“{word}” is not known here"
        raise LayoutError(msg, where=place, remedy=f"use one of: {', '.join(known)}")
    return str(word)


def fields_length(fields: Sequence[ByteField]) -> int:
    """Return how many bytes the fields take.

    Raises
    ------
    LayoutError
        When a filling ends before it begins.
    """
    at = 0
    for field in fields:
        if field.kind == "fill" and field.length < at:
            msg = f"{at} bytes stand before a filling that ends at {field.length}"
            raise LayoutError(msg, where=field.place, remedy="fill to a larger offset")
        at = field.length if field.kind == "fill" else at + field.length
    return at


def write_fields(
    fields: Sequence[ByteField], values: Mapping[str, int | str], records: bytes, before: bytes
) -> bytes:
    """Return the bytes of the fields.

    Parameters
    ----------
    fields : sequence of ByteField
    values : mapping
        Everything named in ``VALUES``.
    records, before : bytes
        What checksums may cover: the records, and all bytes that stand before these fields.

    Raises
    ------
    LayoutError
        When a value does not fit its field.
    """
    out = b""
    for field in fields:
        if field.kind == "fill":
            out += field.pad * (field.length - len(out))
        else:
            out += _field_bytes(field, values, records, before + out)
    return out


def _field_bytes(
    field: ByteField, values: Mapping[str, int | str], records: bytes, before: bytes
) -> bytes:
    if field.kind == "literal":
        return field.literal
    if field.kind == "checksum":
        total = checksum(field.source, records if field.over == "records" else before)
        return (total % (1 << 8 * field.length)).to_bytes(field.length, _order(field))
    value = values[field.source]
    if field.kind == "integer":
        try:
            return int(value).to_bytes(field.length, _order(field), signed=field.is_signed)
        except OverflowError as fault:
            raise _too_long(field, value) from fault
    text = f"{value:+d}" if field.is_signed and isinstance(value, int) else str(value)
    data = text.encode("ascii", "replace")
    if isinstance(value, str):
        data = data[: field.length]
    if len(data) > field.length:
        raise _too_long(field, value)
    fill = field.pad * (field.length - len(data))
    return data + fill if field.side == "left" else fill + data


def _too_long(field: ByteField, value: object) -> LayoutError:
    msg = f"{field.source} is {value}, which does not fit {field.length} bytes"
    return LayoutError(msg, where=field.place, remedy="give the field more bytes")


def _order(field: ByteField) -> Literal["little", "big"]:
    return "little" if field.order == "little" else "big"


def checksum(kind: str, data: bytes) -> int:
    """Return a checksum: byte sum, exclusive or, CRC-16 (polynomial 0x1021, from 0) or CRC-32.

    The two CRCs are the standard library's ``binascii.crc_hqx`` and ``zlib.crc32``.
    """
    if kind == "sum":
        return sum(data)
    if kind == "xor":
        total = 0
        for byte in data:
            total ^= byte
        return total
    return binascii.crc_hqx(data, 0) if kind == "crc16" else zlib.crc32(data)


def check_fields(fields: Sequence[ByteField], found: bytes, records: bytes, before: bytes) -> None:
    """Compare literals and checksums of fields that were read.

    Raises
    ------
    LayoutError
        With the offset of the first byte that differs.
    """
    at = 0
    for field in fields:
        end = field.length if field.kind == "fill" else at + field.length
        if field.kind in ("literal", "checksum"):
            wanted = _field_bytes(field, {}, records, before + found[:at])
            if found[at:end] != wanted:
                off = next(
                    (
                        i
                        for i, (a, b) in enumerate(zip(found[at:end], wanted, strict=False))
                        if a != b
                    ),
                    len(found[at:end]),
                )
                msg = (
                    "the checksum is wrong, so the file is damaged"
                    if field.kind == "checksum"
                    else "these bytes are not what the layout says"
                )
                place = f"byte {len(before) + at + off}"
                raise LayoutError(
                    msg, where=place, remedy="check that layout and file belong together"
                )
        at = end
