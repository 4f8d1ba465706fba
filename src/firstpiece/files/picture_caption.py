"""A line of words under a picture, so that what it is cannot be parted from it.

Input: pixels and words. Output: the pixels with a strip of warm white below that bears the words.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file
from importlib.resources import files as package_files
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from firstpiece.files.fonts import FONT_FILES

if TYPE_CHECKING:
    from numpy.typing import NDArray

PAPER, INK = (251, 248, 242), (40, 36, 32)
SHARE, SMALLEST_PX = 0.022, 12


def add_caption(pixels: NDArray[np.uint8], words: str) -> NDArray[np.uint8]:
    """Return a picture with words below it, broken into lines that fit its width.

    Parameters
    ----------
    pixels : (h, w, 3) uint8 [sRGB]
    words : str

    Returns
    -------
    (h + strip, w, 3) uint8 [sRGB]
    """
    size = max(SMALLEST_PX, round(SHARE * pixels.shape[1]))
    font = _font(size)
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and font.getlength(longer) <= pixels.shape[1] - 2 * size:
            lines[-1] = longer
        else:
            lines.append(word)
    height = round(size * (1.4 * len(lines) + 1.0))
    strip = Image.new("RGB", (pixels.shape[1], height), PAPER)
    pen = ImageDraw.Draw(strip)
    for k, line in enumerate(lines):
        pen.text((size, size * (0.4 + 1.4 * k)), line, font=font, fill=INK)
    return np.concatenate([pixels, np.asarray(strip, dtype=np.uint8)])


@cache
def _font(size: int) -> ImageFont.FreeTypeFont:
    file = package_files("firstpiece") / "data" / "fonts" / FONT_FILES["regular"]
    with as_file(file) as path:
        return ImageFont.truetype(str(path), size=size)
