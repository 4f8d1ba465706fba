"""Take out of a picture's bytes what tells of place, person and camera; pixels stay as they are.

JPEG, PNG and WebP are walked segment by segment and only what shows is kept: pixels, colour
profile, density, and which way is up. SVG loses its metadata elements and comments. What follows a
picture's end (a phone's short film, for one) is cut off.
"""

from __future__ import annotations

import re
import struct
from gettext import gettext as _
from zlib import crc32

from firstpiece.errors import PictureError
from firstpiece.files.vector_art import looks_like_svg

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT",
             b"sRGB", b"cICP", b"bKGD", b"pHYs"}  # fmt: skip
_WEBP_KEPT = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"}
_METADATA = re.compile(r"<((?:[\w.-]+:)?metadata)(?:\s[^>]*?)?(?:/>|>.*?</\1\s*>)", re.DOTALL)
_COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)
_ORIENTATION = 0x0112
_WEBP_HAS_EXIF, _WEBP_HAS_XMP = 0x08, 0x04


def strip_picture(data: bytes, *, name: str = "") -> bytes:
    """Return the picture without metadata; stripping twice changes nothing more.

    Parameters
    ----------
    data : bytes
        A PNG, JPEG, WebP or SVG file.
    name : str
        A label for people, shown in errors.

    Raises
    ------
    PictureError
        When it is none of them or is cut short.

    References
    ----------
    ITU-T T.81 (JPEG) annex B; W3C PNG specification, section 5; WebP container specification,
    RFC 9649 section 2; orientation: CIPA DC-008 (Exif), tag 0112h.
    """
    try:
        if data.startswith(b"\xff\xd8"):
            return _strip_jpeg(data)
        if data.startswith(_PNG):
            return _strip_png(data)
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _strip_webp(data)
        if looks_like_svg(data):
            return _strip_svg(data)
    except (struct.error, IndexError, ValueError) as fault:
        what = _("the picture is damaged or cut short")
        raise PictureError(what, where=name, remedy=_("send it again")) from fault
    raise PictureError(
        _("this is not a picture"), where=name, remedy=_("send a PNG, JPEG, WebP or SVG")
    )


def picture_type(data: bytes) -> str:
    """Return the media type of a kept picture (IANA), by its first bytes."""
    starts = ((b"\xff\xd8", "image/jpeg"), (_PNG, "image/png"), (b"RIFF", "image/webp"))
    found = (kind for start, kind in starts if data.startswith(start))
    return next(found, "image/svg+xml")


def _strip_jpeg(data: bytes) -> bytes:
    kept: list[bytes] = []
    at, orientation = 2, 1
    while True:
        while data[at + 1] == 0xFF:
            at += 1
        marker = data[at + 1]
        if data[at] != 0xFF:
            msg = "a marker is missing"
            raise ValueError(msg)
        if marker == 0xD9:
            break
        (length,) = struct.unpack_from(">H", data, at + 2)
        end = at + 2 + length
        body = data[at + 4 : end]
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            orientation = _read_orientation(body[6:])
        if marker == 0xDA:
            end = _scan_end(data, end)
        if _shows(marker, body):
            kept.append(data[at:end])
        at = end
    if orientation != 1:
        exif = b"Exif\0\0" + _write_orientation(orientation)
        kept.insert(0, b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif)
    return b"\xff\xd8" + b"".join(kept) + b"\xff\xd9"


def _shows(marker: int, body: bytes) -> bool:
    """Return whether a JPEG segment has a say in what is seen."""
    if marker == 0xFE:
        return False
    if not 0xE0 <= marker <= 0xEF:
        return True
    return (
        (marker == 0xE0 and body.startswith(b"JFIF\0"))
        or (marker == 0xE2 and body.startswith(b"ICC_PROFILE\0"))
        or (marker == 0xEE and body.startswith(b"Adobe"))
    )


def _scan_end(data: bytes, at: int) -> int:
    """Return where coded data ends: the next marker that is neither stuffing nor a restart."""
    while True:
        at = data.index(b"\xff", at)
        following = data[at + 1]
        if following != 0 and not 0xD0 <= following <= 0xD7 and following != 0xFF:
            return at
        at += 1 if following == 0xFF else 2


def _strip_png(data: bytes) -> bytes:
    kept = [_PNG]
    at, orientation = 8, 1
    while True:
        (length,) = struct.unpack_from(">I", data, at)
        kind, end = data[at + 4 : at + 8], at + 12 + length
        if end > len(data):
            msg = "a chunk is cut short"
            raise ValueError(msg)
        if kind == b"eXIf":
            orientation = _read_orientation(data[at + 8 : end - 4])
        if kind == b"IDAT" and orientation != 1 and not any(p[4:8] == b"eXIf" for p in kept):
            kept.append(_png_chunk(b"eXIf", _write_orientation(orientation)))
        if kind in _PNG_KEPT:
            kept.append(data[at:end])
        if kind == b"IEND":
            return b"".join(kept)
        at = end


def _png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", crc32(kind + body))


def _strip_webp(data: bytes) -> bytes:
    kept: list[bytes] = []
    (size,) = struct.unpack_from("<I", data, 4)
    at, stop, orientation = 12, 8 + size, 1
    if stop > len(data):
        msg = "the file is cut short"
        raise ValueError(msg)
    while at + 8 <= stop:
        kind = data[at : at + 4]
        (length,) = struct.unpack_from("<I", data, at + 4)
        end = at + 8 + length + length % 2
        if kind == b"EXIF":
            orientation = _read_orientation(
                data[at + 8 : at + 8 + length].removeprefix(b"Exif\0\0")
            )
        if kind in _WEBP_KEPT:
            kept.append(data[at:end])
        at = end
    return _join_webp(kept, orientation)


def _join_webp(kept: list[bytes], orientation: int) -> bytes:
    """Put chunks together; the extended head, when there is one, tells what is still in."""
    if not kept:
        msg = "there is no picture in it"
        raise ValueError(msg)
    if kept and kept[0][:4] == b"VP8X":
        head = bytearray(kept[0])
        head[8] &= ~(_WEBP_HAS_EXIF | _WEBP_HAS_XMP)
        if orientation != 1:
            head[8] |= _WEBP_HAS_EXIF
            exif = _write_orientation(orientation)
            kept.append(b"EXIF" + struct.pack("<I", len(exif)) + exif + b"\0" * (len(exif) % 2))
        kept[0] = bytes(head)
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _read_orientation(exif: bytes) -> int:
    """Return the way up, 1 to 8, of an Exif block; 1 when it is not told or not readable."""
    order = {b"II": "<", b"MM": ">"}.get(exif[:2])
    if order is None:
        return 1
    try:
        (start,) = struct.unpack_from(order + "I", exif, 4)
        (count,) = struct.unpack_from(order + "H", exif, start)
        for i in range(count):
            tag, kind, _n, value = struct.unpack_from(order + "HHIH", exif, start + 2 + 12 * i)
            if tag == _ORIENTATION and kind == 3 and 1 <= value <= 8:
                return int(value)
    except struct.error:
        return 1
    return 1


def _write_orientation(orientation: int) -> bytes:
    """Return an Exif block that tells the way up and nothing else."""
    entry = struct.pack(">HHIHH", _ORIENTATION, 3, 1, orientation, 0)
    return b"MM\0\x2a" + struct.pack(">IH", 8, 1) + entry + struct.pack(">I", 0)


def _strip_svg(data: bytes) -> bytes:
    """Return the drawing without metadata elements and comments; the rest as it was."""
    # Editors write UTF-16 with its mark; all else that is read here keeps ASCII as single bytes.
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    text = data.decode("utf-16" if wide else "latin-1")
    text = _COMMENT.sub("", _METADATA.sub("", text))
    return text.encode("utf-16" if wide else "latin-1")
