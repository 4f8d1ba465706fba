"""The version of a stage: a hash of its source, of the floors below it, and of its libraries.

A number raised by hand is forgotten sooner or later, and then an old result is shown as if it were
new; the source cannot be forgotten.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

BELOW = ("lettering", "model", "geometry", "kernels", "units.py", "errors.py")
LIBRARIES = (
    "numpy",
    "scipy",
    "shapely",
    "opencv-python-headless",
    "scikit-image",
    "numba",
    "uharfbuzz",
    "fonttools",
)


@cache
def stage_version(package: str) -> str:
    """Return 16 hex digits that change whenever the stage's results might.

    Parameters
    ----------
    package : str
        The stage's package inside firstpiece: ``tracing``, ``planning``, …
    """
    digest = hashlib.sha256(_floors_below().encode())
    _add_source(digest, files("firstpiece") / package)
    return digest.hexdigest()[:16]


@cache
def _floors_below() -> str:
    digest = hashlib.sha256()
    for name in BELOW:
        _add_source(digest, files("firstpiece") / name)
    for library in LIBRARIES:
        try:
            digest.update(f"{library} {version(library)}\n".encode())
        except PackageNotFoundError:
            digest.update(f"{library} none\n".encode())
    return digest.hexdigest()


def _add_source(digest: hashlib._Hash, place: Traversable) -> None:
    if place.is_dir():
        for child in sorted(place.iterdir(), key=lambda c: c.name):
            _add_source(digest, child)
    elif place.name.endswith(".py"):
        digest.update(place.name.encode() + b"\x00" + place.read_bytes())
