"""Small pictures, good and bad, and a way to run a command as a person would."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageDraw

from firstpiece.__main__ import main


@dataclass
class Answer:
    code: int
    out: str
    err: str


@pytest.fixture
def run(capsys):
    """Return a function that runs one command in this process."""

    def run_command(*arguments) -> Answer:
        code = main([str(a) for a in arguments])
        said = capsys.readouterr()
        return Answer(code, said.out, said.err)

    return run_command


def png(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def badge_png(size: int = 240) -> bytes:
    """A red disc with a green bar on white paper."""
    image = Image.new("RGB", (size, size), "white")
    pen = ImageDraw.Draw(image)
    pen.ellipse((20, 20, size - 20, size - 20), fill=(206, 40, 38))
    pen.rectangle((60, size // 2 - 15, size - 60, size // 2 + 15), fill=(62, 138, 58))
    return png(image)


def bomb_png() -> bytes:
    """A PNG whose head promises 60,000 × 60,000 pixels."""
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)

    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def photo_png() -> bytes:
    """Thousands of colours, as a photograph has."""
    rng = np.random.default_rng(3)
    coarse = rng.integers(0, 255, (24, 24, 3)).astype(np.uint8)
    smooth = Image.fromarray(coarse).resize((320, 320), Image.Resampling.BICUBIC)
    noisy = np.asarray(smooth).astype(int) + rng.integers(-20, 20, (320, 320, 3))
    return png(Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)))


PICTURES = {
    "badge.png": badge_png,
    "not-a-picture.png": lambda: b"this is a letter, not a picture" * 20,
    "empty.png": lambda: b"",
    "cut-off.png": lambda: badge_png()[:200],
    "bomb.png": bomb_png,
    "one-color.png": lambda: png(Image.new("RGB", (200, 200), (200, 30, 30))),
    "transparent.png": lambda: png(Image.new("RGBA", (200, 200), (0, 0, 0, 0))),
    "photo.png": photo_png,
    "entity-bomb.svg": lambda: (
        b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
        b'<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
        b'<svg xmlns="http://www.w3.org/2000/svg"><text>&b;</text></svg>'
    ),
}


@pytest.fixture
def pictures(tmp_path):
    """Return a folder with every picture of ``PICTURES``."""
    folder = tmp_path / "pictures"
    folder.mkdir()
    for name, make in PICTURES.items():
        (folder / name).write_bytes(make())
    return folder
