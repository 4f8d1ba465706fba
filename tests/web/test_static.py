"""The shipped browser files: small enough, self-contained, and in the wheel's package."""

from __future__ import annotations

import gzip
import re
from importlib.resources import files as package_files

STATIC = package_files("firstpiece") / "web" / "static"
MOST_GZ_BYTES = 60_000


def _text_files():
    return {f.name: f.read_bytes() for f in STATIC.iterdir() if f.name.endswith((".js", ".css"))}


def test_scripts_and_styles_stay_small():
    sizes = {name: len(gzip.compress(data, 6)) for name, data in _text_files().items()}
    assert len(sizes) >= 6
    assert sum(sizes.values()) <= MOST_GZ_BYTES, sizes


def test_scripts_and_styles_fetch_nothing_from_outside():
    for name, data in _text_files().items():
        assert not re.search(rb"https?://(?!www\.w3\.org/)", data), name
        assert b"eval(" not in data, name
        assert b"innerHTML" not in data, name


def test_imported_modules_exist():
    for name, data in _text_files().items():
        for other in re.findall(rb'from "\./([^"]+)"', data):
            assert (STATIC / other.decode()).is_file(), (name, other)


def test_fonts_are_the_woff2_they_claim():
    for name in ("noto-sans-regular.woff2", "noto-sans-bold.woff2"):
        assert (STATIC / name).read_bytes()[:4] == b"wOF2"
