"""Results already worked out, by the hash of stage, stage version and inputs.

The newest stay in memory; all go into one SQLite file, the oldest leaving when it grows too large.
A shelf that cannot be read or written is no reason to fail: the work is done anew.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    Column,
    Engine,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    delete,
    func,
    select,
)
from sqlalchemy.dialects.sqlite import insert
from sqlalchemy.exc import SQLAlchemyError

from firstpiece.model.memo import Memo
from firstpiece.store.connection import open_engine
from firstpiece.store.value_code import CodeError, decode_value, encode_value

if TYPE_CHECKING:
    from pathlib import Path

IN_MEMORY = 24
MOST_BYTES = 256 * 1024 * 1024

_METADATA = MetaData()
_RESULTS = Table(
    "results",
    _METADATA,
    Column("number", Integer, primary_key=True),
    Column("key", Text, nullable=False, unique=True),
    Column("stage", Text, nullable=False),
    Column("n_bytes", Integer, nullable=False),
    Column("value", LargeBinary, nullable=False),
    sqlite_strict=True,
)


class ResultShelf:
    """Finished stage results to be looked up again.

    ``memo`` holds parts of results, in memory alone: an edit of one area is worked out from them.

    Parameters
    ----------
    path : pathlib.Path or None
        The database file; None keeps results in memory only.
    most_bytes : int
        Size of all stored values at which the oldest are dropped.
    """

    def __init__(self, path: Path | None, *, most_bytes: int = MOST_BYTES) -> None:
        self._recent: OrderedDict[str, Any] = OrderedDict()
        self._most_bytes = most_bytes
        self._lock = Lock()
        self.memo = Memo()
        self._engine: Engine | None = None
        if path is not None:
            self._engine = _open(path)

    @property
    def is_on_disk(self) -> bool:
        """True while results outlive the process."""
        return self._engine is not None

    def get(self, key: str) -> Any | None:
        """Return the value kept under a key, or None."""
        with self._lock:
            if key in self._recent:
                self._recent.move_to_end(key)
                return self._recent[key]
        value = self._read(key)
        if value is not None:
            self._remember(key, value)
        return value

    def put(self, key: str, stage: str, value: object) -> None:
        """Keep a value under a key; a value already there stays."""
        self._remember(key, value)
        if self._engine is None:
            return
        data = encode_value(value)
        row = {"key": key, "stage": stage, "n_bytes": len(data), "value": data}
        try:
            with self._engine.begin() as connection:
                connection.execute(insert(_RESULTS).values(row).on_conflict_do_nothing())
            self._drop_oldest()
        except SQLAlchemyError:
            # A full disk or a lock held too long: go on in memory.
            self._engine = None

    def clear(self) -> None:
        """Throw every result away; the file's pages are written anew."""
        with self._lock:
            self._recent.clear()
        if self._engine is None:
            return
        with self._engine.begin() as connection:
            connection.execute(delete(_RESULTS))
        alone = self._engine.execution_options(isolation_level="AUTOCOMMIT")
        with alone.connect() as connection:
            for statement in ("VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"):
                connection.exec_driver_sql(statement)

    def _remember(self, key: str, value: object) -> None:
        with self._lock:
            self._recent[key] = value
            self._recent.move_to_end(key)
            while len(self._recent) > IN_MEMORY:
                self._recent.popitem(last=False)

    def _read(self, key: str) -> Any | None:
        if self._engine is None:
            return None
        try:
            with self._engine.connect() as connection:
                data = connection.scalar(select(_RESULTS.c.value).where(_RESULTS.c.key == key))
            return None if data is None else decode_value(data)
        except SQLAlchemyError:
            return None
        except CodeError:
            self._forget(key)
            return None

    def _forget(self, key: str) -> None:
        if self._engine is not None:
            with self._engine.begin() as connection:
                connection.execute(delete(_RESULTS).where(_RESULTS.c.key == key))

    def _drop_oldest(self) -> None:
        """Delete rows from the oldest until what is left fits."""
        if self._engine is None:
            return
        newest_first = func.sum(_RESULTS.c.n_bytes).over(order_by=_RESULTS.c.number.desc())
        kept = select(_RESULTS.c.number, newest_first.label("so_far")).subquery()
        too_many = select(kept.c.number).where(kept.c.so_far > self._most_bytes)
        with self._engine.begin() as connection:
            connection.execute(delete(_RESULTS).where(_RESULTS.c.number.in_(too_many)))


def _open(path: Path) -> Engine | None:
    try:
        engine = open_engine(path)
        _METADATA.create_all(engine)
    except (OSError, SQLAlchemyError):
        return None
    return engine
