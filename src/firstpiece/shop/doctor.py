"""Is everything in place on this computer? Each check says what it found and what to do."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from gettext import gettext as _
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files as package_files
from pathlib import Path
from typing import TYPE_CHECKING

from firstpiece.errors import CardError, OutputError
from firstpiece.files.safe_write import check_writable
from firstpiece.shop.cards import list_cards
from firstpiece.store.connection import OLDEST_SQLITE, sqlite_version
from firstpiece.store.home import home_folder

if TYPE_CHECKING:
    from collections.abc import Callable

OLDEST_PYTHON = (3, 11)

LIBRARIES = {
    "numpy": "numpy",
    "scipy": "scipy",
    "numba": "numba",
    "shapely": "shapely",
    "opencv-python-headless": "cv2",
    "scikit-image": "skimage",
    "pillow": "PIL",
    "reportlab": "reportlab",
    "pypdfium2": "pypdfium2",
    "sqlalchemy": "sqlalchemy",
    "fastapi": "fastapi",
}
"""Distribution name -> module name."""


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at; ``remedy`` is empty when it is well."""

    name: str
    is_well: bool
    found: str
    remedy: str = ""


def examine() -> tuple[Check, ...]:
    """Return all checks, in the order a person would look."""
    looks: tuple[Callable[[], Check], ...] = (
        _python,
        _libraries,
        _compiled_code,
        _sqlite,
        _home,
        _cards,
        _fonts,
    )
    return tuple(look() for look in looks)


def _python() -> Check:
    found = ".".join(map(str, sys.version_info[:3]))
    is_well = sys.version_info[:2] >= OLDEST_PYTHON
    return Check("Python", is_well, found, "" if is_well else _("install Python 3.11 or newer"))


def _libraries() -> Check:
    missing = [name for name, module in LIBRARIES.items() if not _loads(module)]
    if missing:
        found = _("missing or broken: {names}").format(names=", ".join(missing))
        return Check(_("libraries"), is_well=False, found=found, remedy=_("run make demo again"))
    found = ", ".join(f"{name} {_version(name)}" for name in ("numpy", "numba", "shapely"))
    return Check(_("libraries"), is_well=True, found=found)


def _loads(module: str) -> bool:
    try:
        import_module(module)
    except ImportError:
        return False
    return True


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "?"


def _compiled_code() -> Check:
    """Look for the kernels' cached machine code, without which the first job is slow."""
    name = _("compiled code")
    folder = Path(str(package_files("firstpiece") / "kernels")) / "__pycache__"
    try:
        check_writable(folder)
    except OutputError:
        found = _("cannot be kept in {folder}").format(folder=folder)
        remedy = _("set NUMBA_CACHE_DIR to a folder that can be written to")
        return Check(name, is_well=False, found=found, remedy=remedy)
    n_kept = len(list(folder.glob("*.nbi")))
    found = _("{n} functions kept in {folder}").format(n=n_kept, folder=folder)
    return Check(name, is_well=True, found=found if n_kept else _("made at the first job"))


def _sqlite() -> Check:
    found = ".".join(map(str, sqlite_version()))
    is_well = sqlite_version() >= OLDEST_SQLITE
    remedy = "" if is_well else _("use a Python built with SQLite 3.37 or newer")
    return Check("SQLite", is_well, found, remedy)


def _home() -> Check:
    folder = home_folder()
    try:
        check_writable(folder)
    except OutputError as fault:
        remedy = _("set FIRSTPIECE_HOME to a folder that can be written to")
        return Check(_("shop's folder"), is_well=False, found=str(fault), remedy=remedy)
    return Check(_("shop's folder"), is_well=True, found=str(folder))


def _cards() -> Check:
    try:
        lines = list_cards()
    except CardError as fault:
        return Check(_("cards"), is_well=False, found=str(fault), remedy=_("mend that card"))
    return Check(_("cards"), is_well=True, found=_("{n} cards read").format(n=len(lines)))


def _fonts() -> Check:
    """Papers embed their own fonts; without them no PDF can be written."""
    names = sorted(_font_files())
    if not names:
        remedy = _("install Firstpiece again")
        return Check(_("fonts"), is_well=False, found=_("none found"), remedy=remedy)
    return Check(_("fonts"), is_well=True, found=", ".join(names))


def _font_files() -> list[str]:
    root = Path(str(package_files("firstpiece")))
    return [p.name for p in root.rglob("*.[ot]tf")]
