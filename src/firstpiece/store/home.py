"""Where a shop's own things are kept: one folder, by the platform's convention.

``FIRSTPIECE_HOME`` overrides it; otherwise it follows the XDG Base Directory Specification 0.8 on
Unix and the customary application folders elsewhere.
"""

from __future__ import annotations

import os
import sys
import tomllib
from gettext import gettext as _
from pathlib import Path

from firstpiece.errors import InputError


def home_folder() -> Path:
    """Return the shop's folder; it may not exist yet."""
    own = os.environ.get("FIRSTPIECE_HOME")
    return Path(own).expanduser() if own else _data_folder() / "firstpiece"


def cards_folder() -> Path:
    """Return the folder of the shop's own cards; it may not exist."""
    return home_folder() / "cards"


def store_address() -> str:
    """Return where the shop's store is: a file's path, or the URL of a database.

    ``FIRSTPIECE_STORE`` comes first, then ``store`` in the home's ``settings.toml``, then the file
    ``store.sqlite`` in the home.

    Raises
    ------
    InputError
        When the settings cannot be read.
    """
    own = os.environ.get("FIRSTPIECE_STORE") or _setting("store")
    return own or str(home_folder() / "store.sqlite")


def pictures_folder() -> Path:
    """Return the folder of the pictures that jobs use; it may not exist."""
    return home_folder() / "pictures"


def drafts_folder() -> Path:
    """Return the folder of what the page works out for jobs; it may not exist."""
    return home_folder() / "web-jobs"


def backups_folder() -> Path:
    """Return the folder backups go to unless another is named; it may not exist."""
    return home_folder() / "backups"


def _setting(name: str) -> str:
    path = home_folder() / "settings.toml"
    try:
        value = tomllib.loads(path.read_text("utf-8")).get(name, "")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        what = _("the settings cannot be read")
        raise InputError(what, where=str(path), remedy=_("mend the file, or remove it")) from fault
    if not isinstance(value, str):
        what = _("“{name}” is not text").format(name=name)
        raise InputError(what, where=str(path), remedy=_("write it between quotes"))
    return value


def _data_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    xdg = os.environ.get("XDG_DATA_HOME", "")
    # The specification says that a relative path there is to be ignored.
    return Path(xdg) if Path(xdg).is_absolute() else Path.home() / ".local" / "share"
