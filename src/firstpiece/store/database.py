"""The shop's store: one database and one folder of pictures, read and written in transactions.

Faults of the database become the faults a person can mend: locked, full, damaged, not there.
"""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from firstpiece.errors import BusyError, FirstpieceError, StoreError
from firstpiece.store.connection import OLDEST_SQLITE, open_store_engine, sqlite_version
from firstpiece.store.migrate import HEAD, migrate, schema_number
from firstpiece.store.pictures import PictureShelf

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from sqlalchemy import Connection, Engine


@dataclass(frozen=True, slots=True)
class ShopStore:
    """An open store; may be shared between threads.

    ``engine`` is the database, ``pictures`` the folder beside it.
    """

    engine: Engine
    pictures: PictureShelf

    @property
    def is_sqlite(self) -> bool:
        """True when the database is one file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection on which several reads see one moment of the store.

        Raises
        ------
        BusyError, StoreError
        """
        level = {} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        with told_faults(), self.engine.execution_options(**level).begin() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Give a connection whose changes are all kept when the block ends, or none.

        Raises
        ------
        BusyError, StoreError
        """
        with told_faults(), self.engine.execution_options(writes=True).begin() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the connections that are kept open."""
        self.engine.dispose()


def open_store(
    address: str,
    *,
    pictures: Path,
    at: datetime,
    before_migration: Callable[[ShopStore, int], object] | None = None,
) -> ShopStore:
    """Return the store at an address, made or brought up to the newest schema when needed.

    Parameters
    ----------
    address : str
        See ``connection.open_store_engine``.
    pictures : pathlib.Path
        Folder of the pictures.
    at : datetime
        The present moment.
    before_migration : callable or None
        Called as ``before_migration(store, schema_number)`` when a store with content is about to
        be changed; a fault there leaves the store as it was.

    Raises
    ------
    InputError, BusyError, StoreError
    """
    if sqlite_version() < OLDEST_SQLITE:
        raise StoreError(
            _("this Python's SQLite is too old"), remedy=_("use a Python with SQLite 3.37 or newer")
        )
    try:
        store = ShopStore(open_store_engine(address), PictureShelf(pictures))
    except OSError as fault:
        raise _not_reached(fault.strerror or str(fault)) from fault
    try:
        with store.read() as connection:
            number = schema_number(connection)
        if number < HEAD:
            if number and before_migration is not None:
                before_migration(store, number)
            with told_faults():
                migrate(store.engine, at=at)
    except BaseException:
        store.close()
        raise
    return store


@contextmanager
def told_faults() -> Iterator[None]:
    """Turn the database's faults into ones that say what to do; a fault of the program stays."""
    try:
        yield
    except PoolTimeoutError as fault:
        raise _busy() from fault
    except (DatabaseError, sqlite3.DatabaseError) as fault:
        # SQLAlchemy wraps the driver's fault, except while a connection is being made.
        orig = fault.orig if isinstance(fault, DatabaseError) else fault
        told = _told(str(orig), is_operational=_is_operational(fault))
        if told is None:
            raise
        raise told from fault


def _is_operational(fault: Exception) -> bool:
    return isinstance(fault, OperationalError | sqlite3.OperationalError)


def _told(reason: str, *, is_operational: bool) -> FirstpieceError | None:
    """Return the fault to tell, or None when it is one of the program."""

    def says(*words: str) -> bool:
        return any(word in reason.lower() for word in words)

    if says("malformed", "not a database", "disk i/o error"):
        return _damaged()
    if not is_operational:
        return None
    if says("locked", "busy", "lock timeout", "deadlock"):
        return _busy()
    if says("no such module"):
        return StoreError(
            _("this Python's SQLite has no full-text search"),
            remedy=_("use another Python, or a PostgreSQL store"),
        )
    return _not_reached((reason.strip() or "?").splitlines()[0])


def _busy() -> BusyError:
    return BusyError(_("the store is in use by another action"), remedy=_("try again in a moment"))


def _damaged() -> StoreError:
    return StoreError(_("the store is damaged"), remedy=_("restore the newest backup"))


def _not_reached(reason: str) -> StoreError:
    return StoreError(
        _("the store cannot be used ({reason})").format(reason=reason[:200]),
        remedy=_("check FIRSTPIECE_STORE, the room on the disk, and that the database is running"),
    )
