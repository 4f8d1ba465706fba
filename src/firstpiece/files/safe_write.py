"""Write a set of files into a folder all together or not at all.

The files are written beside their places first and moved in only when every one is complete. When
a move fails, or the person stops it, what was there before is put back.
"""

from __future__ import annotations

import os
import tempfile
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from firstpiece.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping


def check_writable(folder: Path) -> None:
    """Raise unless files could be written into ``folder``; leaves nothing behind.

    Raises
    ------
    OutputError
        When the folder, or the nearest folder above it that exists, cannot be written to.
    """
    place = folder
    while not place.exists() and place != place.parent:
        place = place.parent
    try:
        with tempfile.TemporaryDirectory(prefix=".firstpiece-", dir=place):
            pass
    except OSError as fault:
        raise _refusal(folder, fault) from fault


def write_together(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write every file or none; other files of the folder are left alone.

    Parameters
    ----------
    folder : pathlib.Path
        Made when it does not exist.
    contents : mapping of str to bytes
        Plain file names and what they hold.

    Returns
    -------
    tuple of pathlib.Path
        The written files, in the given order.

    Raises
    ------
    OutputError
        When the folder cannot be made or written to.
    """
    made = [] if folder.exists() else _missing_folders(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # Inside the folder rather than beside it: a move is whole only within one file system,
        # and the folder may be a mount of its own.
        with tempfile.TemporaryDirectory(prefix=".firstpiece-", dir=folder) as scratch:
            _write_and_move(folder, contents, Path(scratch))
    except BaseException as fault:
        for empty in made:
            _remove_if_empty(empty)
        if isinstance(fault, OSError):
            raise _refusal(folder, fault) from fault
        raise
    return tuple(folder / name for name in contents)


def _write_and_move(folder: Path, contents: Mapping[str, bytes], scratch: Path) -> None:
    new, old = scratch / "new", scratch / "old"
    new.mkdir()
    old.mkdir()
    for name, data in contents.items():
        if not name or Path(name).name != name:
            msg = f"{name!r} is not a plain file name"
            raise ValueError(msg)
        if (folder / name).is_dir():
            raise IsADirectoryError(21, os.strerror(21), name)
        (new / name).write_bytes(data)
    moved: list[str] = []
    try:
        for name in contents:
            if (folder / name).exists():
                (folder / name).replace(old / name)
            moved.append(name)
            (new / name).replace(folder / name)
    except BaseException:
        for name in moved:
            (folder / name).unlink(missing_ok=True)
        for kept in old.iterdir():
            kept.replace(folder / kept.name)
        raise


def _missing_folders(folder: Path) -> list[Path]:
    """Return the folders that will have to be made, innermost first."""
    missing = []
    while not folder.exists() and folder != folder.parent:
        missing.append(folder)
        folder = folder.parent
    return missing


def _remove_if_empty(folder: Path) -> None:
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()


def _refusal(folder: Path, fault: OSError) -> OutputError:
    reason = (fault.strerror or str(fault)).lower()
    return OutputError(
        _("the folder cannot be written to ({reason})").format(reason=reason),
        where=str(folder),
        remedy=_("choose another folder"),
    )
