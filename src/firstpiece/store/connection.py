"""The one way to open a database file: SQLite in WAL mode, with checks on and a patient lock."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

from sqlalchemy import create_engine, event
from sqlalchemy.engine import URL
from sqlalchemy.pool import NullPool

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Engine

OLDEST_SQLITE = (3, 37, 0)
"""STRICT tables came with 3.37 (SQLite release history, 27 November 2021)."""

_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=NORMAL",
    "busy_timeout=5000",
    "foreign_keys=ON",
    "trusted_schema=OFF",
)


def open_engine(path: Path) -> Engine:
    """Return an engine on the file; the file and its folder are made when missing.

    Raises
    ------
    OSError
        When the folder cannot be made.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # Without a pool a connection is never shared between threads or left open at exit.
    engine = create_engine(URL.create("sqlite", database=str(path)), poolclass=NullPool)
    event.listen(engine, "connect", _prepare)
    return engine


def sqlite_version() -> tuple[int, int, int]:
    """Return the version of the SQLite library in use."""
    return sqlite3.sqlite_version_info


def _prepare(connection: Any, _record: object) -> None:
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}").close()
