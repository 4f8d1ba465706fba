"""The fonts that come with the package, as bytes, by the names that edits call them."""

from __future__ import annotations

from functools import cache
from importlib.resources import files as package_files
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_NAMES = {
    "Noto Sans": "NotoSans-Regular",
    "Noto Sans Bold": "NotoSans-Bold",
    "Noto Sans Italic": "NotoSans-Italic",
    "Noto Sans Arabic": "NotoSansArabic-Regular",
    "Noto Sans Arabic Bold": "NotoSansArabic-Bold",
    "Noto Sans Hebrew": "NotoSansHebrew-Regular",
    "Noto Sans Hebrew Bold": "NotoSansHebrew-Bold",
}


@cache
def shipped_fonts() -> Mapping[str, bytes]:
    """Return the shipped font files by name."""
    folder = package_files("firstpiece") / "data" / "fonts"
    return MappingProxyType(
        {name: (folder / f"{file}.ttf").read_bytes() for name, file in _NAMES.items()}
    )
