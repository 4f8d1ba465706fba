"""Codes read from a photograph of a ticket or a bag, for whoever has a phone and no scanner."""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

import cv2
import numpy as np

from firstpiece.errors import PictureError
from firstpiece.files.picture import read_artwork

if TYPE_CHECKING:
    from numpy.typing import NDArray

LARGEST_SIDE_PX = 2000


def read_codes(data: bytes, *, name: str) -> tuple[str, ...]:
    """Return the texts of the QR codes in a picture, the topmost first.

    Raises
    ------
    PictureError
        When it is no picture, or holds no code that can be read.
    """
    pixels = np.asarray(read_artwork(data, name=name).pixels)[..., :3]
    scale = min(1.0, LARGEST_SIDE_PX / max(pixels.shape[:2]))
    size = (round(pixels.shape[1] * scale), round(pixels.shape[0] * scale))
    gray = cv2.cvtColor(np.ascontiguousarray(pixels), cv2.COLOR_RGB2GRAY)
    smaller = np.asarray(cv2.resize(gray, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    read = _read_all(smaller) or _read_one(smaller)
    if not read:
        raise PictureError(
            _("no code can be read in the picture"),
            where=name,
            remedy=_("take it again from nearer, without glare, or type the line under the code"),
        )
    return tuple(text for _top, text in sorted(read))


def _read_all(gray: NDArray[np.uint8]) -> list[tuple[float, str]]:
    """Return texts with the height of their upper corner; this reader wants some sharpness."""
    found, texts, corners, _straight = cv2.QRCodeDetectorAruco().detectAndDecodeMulti(gray)
    if not found or corners is None:
        return []
    pairs = zip(texts, np.asarray(corners), strict=True)
    return [(float(corner[:, 1].min()), text) for text, corner in pairs if text]


def _read_one(gray: NDArray[np.uint8]) -> list[tuple[float, str]]:
    """Return the text of a single code; this reader finds codes that are small or soft."""
    text, _corners, _straight = cv2.QRCodeDetector().detectAndDecode(gray)
    return [(0.0, text)] if text else []
