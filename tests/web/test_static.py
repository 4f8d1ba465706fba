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


def test_static_files_come_whole_with_their_type_and_only_once(page):
    kinds = {
        "traveller.js": "text/javascript",
        "shop.css": "text/css",
        "noto-sans-bold.woff2": "font/woff2",
        "mark.svg": "image/svg+xml",
    }
    for name, kind in kinds.items():
        answer = page.get(f"/static/{name}")
        assert answer.content == (STATIC / name).read_bytes()
        assert answer.headers["content-type"].startswith(kind)
        again = page.get(f"/static/{name}", **{"if-none-match": answer.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")
    for name in (
        "",
        "nothing.js",
        "../app.py",
        "..%2fapp.py",
        "static/traveller.js/",
        "/etc/passwd",
    ):
        assert page.get(f"/static/{name}").status_code == 404
