"""Check a backup as if it were restored, and restore it.

Everything is tried on a copy first: whole file, references, every job's log replayed, every
picture's hash. Only then is the store replaced, in one transaction.
"""

from __future__ import annotations

import sqlite3
import tempfile
import zipfile
from contextlib import closing, contextmanager
from dataclasses import dataclass
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import select

from firstpiece.errors import InputError, StoreError
from firstpiece.store.backup import (
    DATABASE,
    PICTURES,
    check_file,
    copy_hashed,
    read_manifest,
)
from firstpiece.store.connection import open_store_engine
from firstpiece.store.database import told_faults
from firstpiece.store.erasure import erase_customer, erased_numbers
from firstpiece.store.migrate import migrate
from firstpiece.store.replay import replay_faults
from firstpiece.store.row_copy import copy_rows, empty_tables, plain_tables
from firstpiece.store.schema import CUSTOMERS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from sqlalchemy import Engine

    from firstpiece.model.job_erasure import KnownWords
    from firstpiece.store.backup import Manifest
    from firstpiece.store.database import ShopStore


@dataclass(frozen=True, slots=True)
class Checked:
    """A backup found good; ``erased`` lists customers erased again by restoring it."""

    manifest: Manifest
    erased: tuple[int, ...] = ()


def check_backup(path: Path, *, at: datetime) -> Checked:
    """Return what a backup holds after trying it out on a copy.

    Raises
    ------
    InputError
        When there is no such file.
    StoreError
        When it is damaged or no backup.
    """
    with _opened(path, at=at) as (archive, manifest, _engine):
        _check_pictures(archive, path)
    return Checked(manifest)


def restore_backup(
    store: ShopStore, path: Path, *, at: datetime, known: KnownWords | None = None
) -> Checked:
    """Replace the store's content by a backup's.

    Parameters
    ----------
    store : ShopStore
        Its tables are replaced at once; pictures are added, none is deleted.
    path : pathlib.Path
    at : datetime
    known : KnownWords or None
        What stays of customers erased again.

    Raises
    ------
    InputError, StoreError, BusyError
        The store is then as it was.

    Notes
    -----
    Customers that were erased since the backup was made are erased again.
    """
    with _opened(path, at=at) as (archive, manifest, engine):
        _check_pictures(archive, path)
        with store.read() as connection:
            erased = erased_numbers(connection)
        for name in archive.namelist():
            if name.startswith(PICTURES):
                store.pictures.put(archive.read(name))
        if store.is_sqlite:
            _replace_file(store, Path(str(engine.url.database)))
        else:
            _replace_rows(store, engine)
    return Checked(manifest, _erase_again(store, erased, at, known))


@contextmanager
def _opened(path: Path, *, at: datetime) -> Iterator[tuple[zipfile.ZipFile, Manifest, Engine]]:
    """Give the archive, and its database unpacked, checked and brought up to date."""
    try:
        with (
            zipfile.ZipFile(path) as archive,
            tempfile.TemporaryDirectory(prefix="firstpiece-restore-") as scratch,
        ):
            manifest = read_manifest(archive, path)
            copy = Path(scratch) / DATABASE
            with archive.open(DATABASE) as data, copy.open("wb") as target:
                found = copy_hashed(data, target)
            if found != (manifest.sha256, manifest.n_bytes):
                raise _damaged(path, _("its database is not the one that was backed up"))
            check_file(copy)
            engine = open_store_engine(str(copy))
            try:
                with told_faults():
                    migrate(engine, at=at)
                    _check_replay(engine, path)
                yield archive, manifest, engine
            finally:
                engine.dispose()
    except FileNotFoundError as fault:
        raise InputError(
            _("there is no such backup"), where=str(path), remedy=_("look at the list of backups")
        ) from fault
    except IsADirectoryError as fault:
        raise InputError(_("this is a folder"), where=str(path)) from fault
    except (zipfile.BadZipFile, KeyError, EOFError) as fault:
        raise _damaged(path, _("the archive is cut short or changed")) from fault


def _check_replay(engine: Engine, path: Path) -> None:
    with engine.begin() as connection:
        faults = replay_faults(connection)
    if faults:
        raise _damaged(path, faults[0])


def _check_pictures(archive: zipfile.ZipFile, path: Path) -> None:
    for name in archive.namelist():
        if name.startswith(PICTURES):
            with archive.open(name) as data:
                sha256, _n_bytes = copy_hashed(data, None)
            if name != PICTURES + sha256:
                raise _damaged(path, _("a picture was changed"))


def _replace_file(store: ShopStore, copy: Path) -> None:
    """Write the copy's pages over the live file through SQLite: one transaction, readers wait."""
    with (
        told_faults(),
        closing(store.engine.raw_connection()) as raw,
        closing(sqlite3.connect(copy)) as source,
    ):
        # The copy's own log must be in the file before its pages are read.
        source.execute("PRAGMA wal_checkpoint(TRUNCATE)").close()
        source.backup(raw.driver_connection)  # type: ignore[arg-type]


def _replace_rows(store: ShopStore, engine: Engine) -> None:
    with engine.begin() as source, store.write() as target:
        tables = plain_tables(target)
        empty_tables(target, tables)
        copy_rows(source, target, tables)


def _erase_again(
    store: ShopStore, erased: tuple[int, ...], at: datetime, known: KnownWords | None
) -> tuple[int, ...]:
    with store.read() as connection:
        wanted = select(CUSTOMERS.c.id).where(
            CUSTOMERS.c.id.in_(erased), CUSTOMERS.c.erased_at.is_(None)
        )
        again = tuple(connection.scalars(wanted.order_by(CUSTOMERS.c.id)))
    for number in again:
        erase_customer(store, number, at=at, known=known)
    return again


def _damaged(path: Path, reason: str) -> StoreError:
    return StoreError(
        _("the backup is damaged ({reason})").format(reason=reason),
        where=str(path),
        remedy=_("try an older one"),
    )
