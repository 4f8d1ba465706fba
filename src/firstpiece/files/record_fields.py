"""Header and footer bytes of a record layout: literals, computed values, filling, checksums.

Every field has a length that is known without the plan, so a reader can cut the header off.
"""

from __future__ import annotations

import binascii
import zlib
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from firstpiece.errors import LayoutError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from firstpiece.files.layout_lines import TablePlace

Table = dict[str, Any]

TEXT_VALUES = ("name", "plan")

VALUES = (
    *TEXT_VALUES, "stitches", "records", "threads", "color_changes", "trims", "left", "right",
    "bottom", "top", "width", "height", "record_bytes", "file_bytes",
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


def read_byte_field(entry: Table, place: TablePlace) -> ByteField:
    """Return the field of one [[header]] or [[footer]] table.

    Raises
    ------
    LayoutError
        Naming the line at fault.
    """
    kinds = {"text": _text, "hex": _hex, "value": _value, "fill": _fill, "checksum": _checksum}
    found = [k for k in kinds if k in entry]
    if len(found) != 1:
        raise LayoutError(
            _("a field has exactly one of {kinds}").format(kinds=", ".join(kinds)),
            where=place(),
            remedy=_("split it, or remove the others"),
        )
    return kinds[found[0]](entry, place)


def _text(entry: Table, place: TablePlace) -> ByteField:
    _only(entry, {"text"}, place)
    try:
        data = str(entry["text"]).encode("ascii")
    except UnicodeEncodeError as fault:
        raise LayoutError(
            _("text may hold ASCII letters only"),
            where=place("text"),
            remedy=_("write other bytes as hex"),
        ) from fault
    return ByteField("literal", len(data), place(), literal=data)


def _hex(entry: Table, place: TablePlace, key: str = "hex") -> ByteField:
    if key == "hex":
        _only(entry, {"hex"}, place)
    try:
        data = bytes.fromhex(str(entry[key]))
    except ValueError as fault:
        raise LayoutError(
            _("“{text}” is not bytes in hex").format(text=str(entry[key])[:30]),
            where=place(key),
            remedy=_("write it like “{sample}”").format(sample="0d 0a"),
        ) from fault
    return ByteField("literal", len(data), place(), literal=data)


def _value(entry: Table, place: TablePlace) -> ByteField:
    _only(entry, {"value", "form", "bytes", "pad", "side", "order", "signed"}, place)
    source, form = entry["value"], entry.get("form", "text")
    if source not in VALUES:
        raise LayoutError(
            _("“{word}” is not a value that can be computed").format(word=source),
            where=place("value"),
            remedy=_("use one of: {words}").format(words=", ".join(VALUES)),
        )
    if form not in ("text", "integer") or (form == "integer" and source in TEXT_VALUES):
        raise LayoutError(
            _("“{word}” cannot be written as “{form}”").format(word=source, form=form),
            where=place("form"),
            remedy=_("use text, or integer for a number"),
        )
    most = 8 if form == "integer" else MOST_FIELD_BYTES
    length = _whole(entry.get("bytes"), (1, most), place, "bytes")
    pad = str(entry.get("pad", " "))
    if len(pad) != 1 or not pad.isascii():
        raise LayoutError(
            _("pad is one ASCII character"),
            where=place("pad"),
            remedy=_("write pad = “ ” or pad = “0”"),
        )
    usual_side = "left" if source in TEXT_VALUES else "right"
    return ByteField(
        form, length, place(), source=source, pad=pad.encode(),
        side=_word(entry, "side", (usual_side, "left", "right"), place),
        order=_word(entry, "order", ("little", "big"), place),
        is_signed=bool(entry.get("signed", False)),
    )  # fmt: skip


def _fill(entry: Table, place: TablePlace) -> ByteField:
    _only(entry, {"fill", "to"}, place)
    pad = _hex(entry, place, "fill").literal
    if len(pad) != 1:
        raise LayoutError(
            _("fill is one byte in hex"),
            where=place("fill"),
            remedy=_("write it like “{sample}”").format(sample="20"),
        )
    length = _whole(entry.get("to"), (1, MOST_FIELD_BYTES), place, "to")
    return ByteField("fill", length, place("to"), pad=pad)


def _checksum(entry: Table, place: TablePlace) -> ByteField:
    _only(entry, {"checksum", "bytes", "order", "over"}, place)
    return ByteField(
        "checksum",
        _whole(entry.get("bytes", 1), (1, 8), place, "bytes"),
        place(),
        source=_word(entry, "checksum", CHECKSUMS, place),
        order=_word(entry, "order", ("little", "big"), place),
        over=_word(entry, "over", ("records", "before"), place),
    )


def _only(entry: Table, known: set[str], place: TablePlace) -> None:
    if unknown := sorted(set(entry) - known):
        raise LayoutError(
            _("“{word}” does not belong to this field").format(word=unknown[0]),
            where=place(unknown[0]),
            remedy=_("use: {words}").format(words=", ".join(sorted(known))),
        )


def _whole(number: object, limits: tuple[int, int], place: TablePlace, key: str) -> int:
    low, high = limits
    if not isinstance(number, int) or isinstance(number, bool) or not low <= number <= high:
        raise LayoutError(
            _("{entry} must be a whole number from {low} to {high}").format(
                entry=key, low=low, high=high
            ),
            where=place(key),
            remedy=_("mend the number"),
        )
    return number


def _word(entry: Table, key: str, known: tuple[str, ...], place: TablePlace) -> str:
    """Return an entry's word, the first known one when it is missing."""
    word = entry.get(key, known[0])
    if word not in known:
        raise LayoutError(
            _("“{word}” is not known here").format(word=word),
            where=place(key),
            remedy=_("use one of: {words}").format(words=", ".join(dict.fromkeys(known))),
        )
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
            raise LayoutError(
                _("{n} bytes stand before a filling that ends at {end}").format(
                    n=at, end=field.length
                ),
                where=field.place,
                remedy=_("fill to a larger offset"),
            )
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
    return LayoutError(
        _("{name} is {value}, which does not fit {n} bytes").format(
            name=field.source, value=value, n=field.length
        ),
        where=field.place,
        remedy=_("give the field more bytes"),
    )


def _order(field: ByteField) -> Literal["little", "big"]:
    return "little" if field.order == "little" else "big"


def checksum(kind: str, data: bytes) -> int:
    """Return a checksum: byte sum, exclusive or, CRC-16 (polynomial 0x1021, from 0) or CRC-32.

    The two CRCs are the standard library's ``binascii.crc_hqx`` and ``zlib.crc32``.
    """
    if kind == "sum":
        return int(np.frombuffer(data, dtype=np.uint8).sum(dtype=np.int64))
    if kind == "xor":
        return int(np.bitwise_xor.reduce(np.frombuffer(data, dtype=np.uint8), initial=0))
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
                pairs = zip(found[at:end], wanted, strict=False)
                off = next((i for i, (a, b) in enumerate(pairs) if a != b), end - at)
                what = _("these bytes are not what the layout says")
                if field.kind == "checksum":
                    what = _("the checksum is wrong, so the file is damaged")
                raise LayoutError(
                    what,
                    where=_("byte {n}").format(n=len(before) + at + off),
                    remedy=_("check that layout and file belong together"),
                )
        at = end
