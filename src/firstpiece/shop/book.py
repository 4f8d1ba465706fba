"""The shop's open store, the same for the whole process, and the shop's clock."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING

from firstpiece.store.backup import write_backup
from firstpiece.store.database import ShopStore, open_store
from firstpiece.store.home import backups_folder, pictures_folder, store_address

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

KEPT_BEFORE_MIGRATION = 10
"""Backups taken by themselves; those a person asked for are never deleted."""

AUTOMATIC = "before-schema-"


def now() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)


def open_book() -> ShopStore:
    """Return the shop's store, made or brought up to date when needed.

    Before a store's tables are changed a backup of them is written; without one nothing changes.

    Raises
    ------
    InputError, BusyError, StoreError
    """
    return _book_at(store_address(), pictures_folder(), backups_folder())


@cache
def _book_at(address: str, pictures: Path, backups: Path) -> ShopStore:
    return open_store(address, pictures=pictures, at=now(), before_migration=_saver(backups))


def _saver(backups: Path) -> Callable[[ShopStore, int], object]:
    def save(store: ShopStore, schema: int) -> None:
        at = now()
        path = free_path(backups, f"{AUTOMATIC}{schema + 1}-{at:%Y%m%dT%H%M%S}")
        write_backup(store, path, at=at, with_pictures=False)
        oldest_last = sorted(backups.glob(f"{AUTOMATIC}*.zip"), key=_age, reverse=True)
        for path in oldest_last[KEPT_BEFORE_MIGRATION:]:
            path.unlink()

    return save


def free_path(folder: Path, stem: str) -> Path:
    """Return a path for a new backup that no other has: two may be made in one second."""
    path, n = folder / f"{stem}.zip", 2
    while path.exists():
        path, n = folder / f"{stem}-{n}.zip", n + 1
    return path


def _age(path: Path) -> float:
    return path.stat().st_mtime
