"""Where a shop's own things are kept: one folder, by the platform's convention.

``FIRSTPIECE_HOME`` overrides it; otherwise it follows the XDG Base Directory Specification 0.8 on
Unix and the customary application folders elsewhere.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path


def home_folder() -> Path:
    """Return the shop's folder; it may not exist yet."""
    own = os.environ.get("FIRSTPIECE_HOME")
    return Path(own).expanduser() if own else _data_folder() / "firstpiece"


def cards_folder() -> Path:
    """Return the folder of the shop's own cards; it may not exist."""
    return home_folder() / "cards"


def _data_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    xdg = os.environ.get("XDG_DATA_HOME", "")
    # The specification says that a relative path there is to be ignored.
    return Path(xdg) if Path(xdg).is_absolute() else Path.home() / ".local" / "share"
