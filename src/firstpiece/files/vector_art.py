"""SVG bytes to painted shapes."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from firstpiece.errors import PictureError

if TYPE_CHECKING:
    from firstpiece.model.artwork import Artwork


def looks_like_svg(data: bytes) -> bool:
    """Return True when the bytes start like XML and hold an ``svg`` element near their start."""
    head = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    return head[:1] == b"<" and (b"<svg" in data[:65536] or b":svg" in data[:65536])


def read_svg(data: bytes, *, name: str) -> Artwork:
    """Return the drawing."""
    del data
    raise PictureError(_("SVG drawings are not read yet"), where=name, remedy=_("send a PNG"))
