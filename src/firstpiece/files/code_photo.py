"""Codes read from a photograph of a ticket or a bag, for whoever has a phone and no scanner."""

from __future__ import annotations

from gettext import gettext as _

import cv2
import numpy as np
import zxingcpp

from firstpiece.errors import PictureError
from firstpiece.files.picture import read_artwork

LARGEST_SIDE_PX = 2000

KINDS = zxingcpp.BarcodeFormats((zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.DataMatrix))
"""Nothing else is looked for: a garment's price tag in the picture is no ticket."""


def read_codes(data: bytes, *, name: str) -> tuple[str, ...]:
    """Return the texts of the QR and Data Matrix codes in a picture, the topmost first.

    Raises
    ------
    PictureError
        When it is no picture, or holds no code that can be read.
    """
    pixels = np.asarray(read_artwork(data, name=name).pixels)[..., :3]
    scale = min(1.0, LARGEST_SIDE_PX / max(pixels.shape[:2]))
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    gray = cv2.cvtColor(np.ascontiguousarray(pixels), cv2.COLOR_RGB2GRAY)
    smaller = np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    found = zxingcpp.read_barcodes(smaller, formats=KINDS)
    if not found:
        raise PictureError(
            _("no code can be read in the picture"),
            where=name,
            remedy=_("take it again from nearer, without glare, or type the line under the code"),
        )
    placed = [(min(c.y for c in _corners(b)), min(c.x for c in _corners(b)), b.text) for b in found]
    return tuple(text for _y, _x, text in sorted(placed))


def _corners(barcode: zxingcpp.Barcode) -> tuple[zxingcpp.Point, ...]:
    at = barcode.position
    return (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
