"""Pictures as files named by the hash of their bytes; written whole or not at all."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from firstpiece.errors import OutputError, StoreError

if TYPE_CHECKING:
    from collections.abc import Iterator

_HASH = re.compile(r"[0-9a-f]{64}")


def picture_hash(data: bytes) -> str:
    """Return the SHA-256 of bytes as 64 hex digits."""
    return hashlib.sha256(data).hexdigest()


class PictureShelf:
    """The folder of all pictures.

    Parameters
    ----------
    folder : pathlib.Path
        Made when the first picture is put.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, key: str) -> Path:
        """Return where the picture of a hash lies; ValueError when it is no hash."""
        if not _HASH.fullmatch(key):
            msg = f"{key[:80]!r} is not a hash"
            raise ValueError(msg)
        return self.folder / key[:2] / key

    def put(self, data: bytes) -> str:
        """Keep bytes and return their hash; they are on the disk when this returns.

        Raises
        ------
        OutputError
            When they cannot be written.
        """
        key = picture_hash(data)
        path = self.path(key)
        if path.is_file() and path.stat().st_size == len(data):
            return key
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_whole(path, data)
        except OSError as fault:
            raise OutputError(
                _("the picture cannot be kept ({reason})").format(
                    reason=(fault.strerror or str(fault)).lower()
                ),
                where=str(self.folder),
                remedy=_("make room, or set FIRSTPIECE_HOME to another folder"),
            ) from fault
        return key

    def get(self, key: str) -> bytes:
        """Return the bytes of a hash.

        Raises
        ------
        StoreError
            When they are missing or not what they were.
        """
        try:
            data = self.path(key).read_bytes()
        except OSError as fault:
            raise _damage(_("a picture is missing"), key) from fault
        if picture_hash(data) != key:
            raise _damage(_("a picture's file was changed"), key)
        return data

    def has(self, key: str) -> bool:
        """Return whether a picture is there, without reading it."""
        return self.path(key).is_file()

    def remove(self, key: str) -> None:
        """Delete a picture; nothing happens when it is not there."""
        self.path(key).unlink(missing_ok=True)

    def __iter__(self) -> Iterator[str]:
        """Yield the hashes of all pictures, in order."""
        if self.folder.is_dir():
            yield from sorted(p.name for p in self.folder.glob("??/*") if _HASH.fullmatch(p.name))


def _write_whole(path: Path, data: bytes) -> None:
    """Write through a file beside it, so that a reader or a power cut never meets half of it."""
    handle, scratch = tempfile.mkstemp(dir=path.parent, prefix=".new-")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        Path(scratch).replace(path)
    except BaseException:
        Path(scratch).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Bring a folder's new name to the disk, where the system can do that."""
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _damage(what: str, key: str) -> StoreError:
    return StoreError(what, where=key[:16], remedy=_("restore it from a backup"))
