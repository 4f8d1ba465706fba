"""Words drawn large in block characters, to be read on a terminal from across the room."""

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

ROWS = 6
"""Lines of the terminal; each shows two rows of blocks."""

FONT_PX = 15
INK_LEVEL = 110

_BLOCKS = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}


def draw_big_words(text: str, *, columns: int = 100) -> str:
    """Return text as lines of block characters; words that do not fit go below each other.

    Parameters
    ----------
    text : str
    columns : int
        Width of the terminal.
    """
    lines: list[str] = []
    row: list[str] = []
    for word in text.split():
        trial = " ".join([*row, word])
        if row and _width(_mask(trial)) > columns:
            lines.append(" ".join(row))
            row = [word]
        else:
            row.append(word)
    lines.append(" ".join(row))
    return "\n\n".join(_blocks(line, columns) for line in lines if line)


def _blocks(text: str, columns: int) -> str:
    mask = _mask(text)
    pairs = mask.reshape(ROWS, 2, -1)
    return "\n".join(
        "".join(_BLOCKS[int(a), int(b)] for a, b in zip(*pair, strict=True))[:columns].rstrip()
        for pair in pairs
    )


def _mask(text: str) -> NDArray[np.uint8]:
    """Return (2·ROWS, w) uint8, 1 where a line of text has ink."""
    font = _font()
    left, top, right, bottom = font.getbbox(text)
    image = Image.new("L", (int(right - left) + 1, 2 * ROWS), 0)
    lift = (2 * ROWS - (bottom - top)) / 2 - top
    ImageDraw.Draw(image).text((-left, lift), text, font=font, fill=255)
    return (np.asarray(image) > INK_LEVEL).astype(np.uint8)


@cache
def _font() -> ImageFont.FreeTypeFont:
    file = package_files("firstpiece") / "data" / "fonts" / FONT_FILES["bold"]
    with as_file(file) as path:
        return ImageFont.truetype(str(path), size=FONT_PX)


def _width(mask: NDArray[np.uint8]) -> int:
    return int(mask.shape[1])
