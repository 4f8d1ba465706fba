"""Backups of the whole shop: write one, list them, try one out, go back to one."""

from __future__ import annotations

from dataclasses import dataclass
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from firstpiece.errors import FirstpieceError, StoreError
from firstpiece.shop.book import free_path, now, open_book
from firstpiece.shop.known_words import known_words
from firstpiece.store import backup as archive
from firstpiece.store.home import backups_folder, store_address
from firstpiece.store.restore import Checked, check_backup, restore_backup

if TYPE_CHECKING:
    from firstpiece.store.backup import Manifest
    from firstpiece.store.database import ShopStore


@dataclass(frozen=True, slots=True)
class Saved:
    """A backup: where it lies and what it says of itself."""

    path: Path
    n_bytes: int
    manifest: Manifest


@dataclass(frozen=True, slots=True)
class Restored:
    """A backup that was restored, and where what was there before is kept."""

    checked: Checked
    before: Path | None


def back_up(path: Path | None = None) -> Saved:
    """Write the whole shop into one file and check it.

    Parameters
    ----------
    path : pathlib.Path or None
        A file or an existing folder; None takes the shop's own folder of backups.

    Raises
    ------
    OutputError, StoreError, BusyError
    """
    at = now()
    target = path or backups_folder()
    if path is None or path.is_dir():
        target = free_path(target, f"firstpiece-{at:%Y%m%dT%H%M%S}")
    manifest = archive.write_backup(open_book(), target, at=at)
    return Saved(target, target.stat().st_size, manifest)


def list_backups(folder: Path | None = None) -> tuple[Path, ...]:
    """Return the backups of a folder, the newest first."""
    found = (folder or backups_folder()).glob("*.zip")
    return tuple(sorted(found, key=lambda path: (-path.stat().st_mtime, path.name)))


def try_backup(path: Path) -> Checked:
    """Return what a backup holds, after restoring it onto a copy that is thrown away.

    Raises
    ------
    InputError, StoreError
    """
    return check_backup(path, at=now())


def restore(path: Path) -> Restored:
    """Replace the shop's store by a backup; the store as it was is backed up first.

    Raises
    ------
    InputError, StoreError, BusyError
        The store is then as it was.
    """
    at = now()
    # Looked at first: a bad backup must not cost anything.
    check_backup(path, at=at)
    book, before = _book_to_replace()
    if before is None:
        before = free_path(backups_folder(), f"before-restore-{at:%Y%m%dT%H%M%S}")
        archive.write_backup(book, before, at=at)
    return Restored(restore_backup(book, path, at=at, known=known_words()), before)


def _book_to_replace() -> tuple[ShopStore, Path | None]:
    """Return the store; one too damaged to open is moved aside and a new one begun."""
    try:
        return open_book(), None
    except StoreError as fault:
        path = Path(store_address())
        if "://" in store_address() or not path.is_file():
            raise
        aside = path.with_name(f"{path.name}.damaged-{now():%Y%m%dT%H%M%S}")
        try:
            for part in ("-wal", "-shm"):
                old = path.with_name(path.name + part)
                if old.exists():
                    old.replace(aside.with_name(aside.name + part))
            path.replace(aside)
        except OSError:
            raise fault from None
        return open_book(), aside


def store_place() -> str:
    """Return where the store is, without a password, for people."""
    address = store_address()
    if "://" not in address:
        return address
    try:
        return str(open_book().engine.url.render_as_string(hide_password=True))
    except FirstpieceError:
        return _("a database that cannot be reached")
