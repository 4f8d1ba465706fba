"""Backups: one ZIP file with the whole store and its pictures, checked before it counts as made.

The database in it is always an SQLite file, made by SQLite's online backup or, from PostgreSQL, by
copying all rows of one moment; so a backup of either kind of store can be restored into either.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import tempfile
import zipfile
from contextlib import closing
from dataclasses import asdict, dataclass, fields
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstpiece.errors import OutputError, StoreError
from firstpiece.store.connection import open_store_engine
from firstpiece.store.database import told_faults
from firstpiece.store.migrate import migrate, schema_number
from firstpiece.store.row_copy import copy_rows, plain_tables

if TYPE_CHECKING:
    from datetime import datetime
    from typing import IO

    from firstpiece.store.database import ShopStore

FORMAT = 1
DATABASE, MANIFEST, PICTURES = "store.sqlite", "manifest.json", "pictures/"
CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself; ``missing`` lists pictures the store itself had lost."""

    format: int
    schema: int
    made_at: str
    sha256: str
    n_bytes: int
    n_customers: int
    n_jobs: int
    n_log: int
    n_pictures: int
    missing: tuple[str, ...] = ()


def write_backup(
    store: ShopStore, path: Path, *, at: datetime, with_pictures: bool = True
) -> Manifest:
    """Write the store as it is at one moment into a file; work on the store goes on meanwhile.

    Parameters
    ----------
    store : ShopStore
    path : pathlib.Path
        Replaced only when the new file is complete and checked.
    at : datetime
    with_pictures : bool
        False leaves the pictures' files out, as before a migration, which does not touch them.

    Raises
    ------
    OutputError
        When it cannot be written.
    StoreError
        When the store is damaged.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=path.parent) as scratch:
            copy = Path(scratch) / DATABASE
            copy_database(store, copy, at=at)
            check_file(copy)
            whole = Path(scratch) / "backup.zip"
            manifest = _pack(store, copy, whole, at=at, with_pictures=with_pictures)
            whole.replace(path)
    except OSError as fault:
        raise OutputError(
            _("the backup cannot be written ({reason})").format(
                reason=(fault.strerror or str(fault)).lower()
            ),
            where=str(path),
            remedy=_("make room, or choose another folder"),
        ) from fault
    return manifest


def copy_database(store: ShopStore, copy: Path, *, at: datetime) -> None:
    """Make an SQLite file of the whole database as it is at one moment."""
    if store.is_sqlite:
        with (
            told_faults(),
            closing(store.engine.raw_connection()) as raw,
            closing(sqlite3.connect(copy)) as target,
        ):
            # All pages in one step: a later write cannot make it begin anew.
            raw.driver_connection.backup(target)  # type: ignore[union-attr]
            target.execute("PRAGMA journal_mode=DELETE").close()
        return
    target_engine = open_store_engine(str(copy))
    try:
        with store.read() as source:
            migrate(target_engine, at=at, up_to=schema_number(source))
            with target_engine.execution_options(writes=True).begin() as target_connection:
                copy_rows(source, target_connection, plain_tables(target_connection))
    finally:
        target_engine.dispose()
    with closing(sqlite3.connect(copy)) as whole:
        whole.execute("PRAGMA journal_mode=DELETE").close()


def check_file(path: Path) -> None:
    """Raise StoreError unless an SQLite file is whole and its references hold."""
    with closing(sqlite3.connect(path)) as database:
        try:
            words = [row[0] for row in database.execute("PRAGMA integrity_check")]
            loose = database.execute("PRAGMA foreign_key_check").fetchall()
        except sqlite3.DatabaseError as fault:
            raise _damaged_store(str(fault)) from fault
    if words != ["ok"]:
        raise _damaged_store(words[0])
    if loose:
        raise _damaged_store(_("{n} rows refer to nothing").format(n=len(loose)))


def read_manifest(archive: zipfile.ZipFile, path: Path) -> Manifest:
    """Return what a backup says of itself.

    Raises
    ------
    StoreError
        When it is no backup, or of a newer format.
    """
    try:
        told: dict[str, Any] = json.loads(archive.read(MANIFEST))
        known = {f.name: told[f.name] for f in fields(Manifest) if f.name in told}
        manifest = Manifest(**{**known, "missing": tuple(told.get("missing", ()))})
    except (KeyError, ValueError, TypeError) as fault:
        raise StoreError(
            _("this is not a backup made here"), where=str(path), remedy=_("choose another file")
        ) from fault
    if manifest.format > FORMAT:
        raise StoreError(
            _("the backup was made by a newer Firstpiece"),
            where=str(path),
            remedy=_("install the newer version"),
        )
    return manifest


def copy_hashed(source: IO[bytes], target: IO[bytes] | None) -> tuple[str, int]:
    """Copy a stream and return its SHA-256 and length."""
    digest, n_bytes = hashlib.sha256(), 0
    while part := source.read(CHUNK):
        digest.update(part)
        n_bytes += len(part)
        if target is not None:
            target.write(part)
    return digest.hexdigest(), n_bytes


def _pack(
    store: ShopStore, copy: Path, whole: Path, *, at: datetime, with_pictures: bool
) -> Manifest:
    with closing(sqlite3.connect(copy)) as database:
        counts = {
            name: database.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608
            for name, table in (("n_customers", "customers"), ("n_jobs", "jobs"),
                                ("n_log", "job_log"))
        }  # fmt: skip
        schema = database.execute("SELECT max(number) FROM migrations").fetchone()[0]
        keys = [row[0] for row in database.execute("SELECT hash FROM pictures ORDER BY hash")]
    kept = [key for key in keys if store.pictures.has(key)] if with_pictures else []
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        with copy.open("rb") as data, archive.open(DATABASE, "w", force_zip64=True) as entry:
            sha256, n_bytes = copy_hashed(data, entry)
        for key in kept:
            # Pictures are packed tight already.
            archive.write(store.pictures.path(key), PICTURES + key, zipfile.ZIP_STORED)
        manifest = Manifest(
            format=FORMAT,
            schema=schema,
            made_at=at.isoformat(),
            sha256=sha256,
            n_bytes=n_bytes,
            n_pictures=len(kept),
            missing=tuple(key for key in keys if key not in set(kept)) if with_pictures else (),
            **counts,
        )
        archive.writestr(MANIFEST, json.dumps(asdict(manifest), indent=1))
    return manifest


def _damaged_store(reason: str) -> StoreError:
    return StoreError(
        _("the store is damaged ({reason})").format(reason=reason[:200]),
        remedy=_("restore the newest good backup"),
    )
