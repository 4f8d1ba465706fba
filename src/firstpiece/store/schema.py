"""The tables of the shop's store, the same in SQLite and PostgreSQL.

Columns are INTEGER, REAL, TEXT or BLOB and nothing else, so that SQLite's STRICT tables hold them
as they are; times, days and trees of values are text that reads the same everywhere.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    TypeDecorator,
)

if TYPE_CHECKING:
    from sqlalchemy import Dialect

NO_DAY = "9999-12-31"
"""Stands for "no due date", so that such jobs sort last in either database."""


class UtcText(TypeDecorator[datetime]):
    """A moment in UTC as ISO 8601 text; its order is the order of time."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Return text."""
        if value is None:
            return None
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the moment."""
        return None if value is None else datetime.fromisoformat(value)


class DayText(TypeDecorator[date]):
    """A day as ISO 8601 text; None sorts last."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str:  # noqa: ARG002
        """Return text."""
        return NO_DAY if value is None else value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:  # noqa: ARG002
        """Return the day or None."""
        return None if value in (None, NO_DAY) else date.fromisoformat(value)


class JsonText(TypeDecorator[Any]):
    """Plain values as JSON text with sorted keys: equal values are equal text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:  # noqa: ARG002
        """Return text."""
        return _as_text(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:  # noqa: ARG002
        """Return the values."""
        return None if value is None else json.loads(value)


def plain(value: Any) -> Any:
    """Return values as they come back out of ``JsonText``: tuples as lists, words of enums."""
    return json.loads(_as_text(dict(value)))


def _as_text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)
STRICT: dict[str, Any] = {"sqlite_strict": True}


def number_key(name: str, *more: ForeignKey) -> Column[int]:
    """Return a column that holds a number given out by us and is a key, or part of one."""
    return Column(name, Integer, *more, primary_key=True, autoincrement=False)


def version_column() -> Column[int]:
    """Return the column that counts the changes of a row, from 1."""
    check = CheckConstraint("version >= 1", name="version")
    return Column("version", Integer, check, nullable=False)


_KEY = Text().with_variant(Text(collation="C"), "postgresql")
"""Text that is sorted by code point in either database."""

MIGRATIONS = Table(
    "migrations",
    METADATA,
    number_key("number"),
    Column("name", Text, nullable=False),
    Column("applied_at", UtcText, nullable=False),
    **STRICT,
)

COUNTERS = Table(
    "counters",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", Integer, nullable=False),
    **STRICT,
)
"""The last number given out: a number is never given twice, and none is left out."""

CUSTOMERS = Table(
    "customers",
    METADATA,
    number_key("id"),
    version_column(),
    Column("name", Text, nullable=False),
    Column("name_key", _KEY, nullable=False),
    Column("writes_by", Text, nullable=False),
    Column("notes", Text, nullable=False),
    Column("consent", JsonText, nullable=False),
    Column("opened_at", UtcText, nullable=False),
    Column("erased_at", UtcText),
    Index(None, "name_key", "id"),
    **STRICT,
)

JOBS = Table(
    "jobs",
    METADATA,
    number_key("id"),
    version_column(),
    Column("state", Text, nullable=False),
    Column("is_open", Integer, CheckConstraint("is_open IN (0, 1)", name="is_open"),
           nullable=False),
    Column("customer_id", Integer, ForeignKey("customers.id")),
    Column("title", Text, nullable=False),
    Column("waiting", Text, nullable=False),
    Column("due", DayText, nullable=False),
    Column("n_pieces", Integer, nullable=False),
    Column("opened_at", UtcText, nullable=False),
    Column("changed_at", UtcText, nullable=False),
    Index(None, "is_open", "due", "id"),
    Index(None, "state", "due", "id"),
    Index(None, "customer_id", "id"),
    Index(None, "due", "id"),
    **STRICT,
)  # fmt: skip
"""One row a job: what its log adds up to, as far as lists need it. The log is the truth."""

JOB_LOG = Table(
    "job_log",
    METADATA,
    number_key("job_id", ForeignKey("jobs.id")),
    number_key("number"),
    Column("at", UtcText, nullable=False),
    Column("kind", Text, nullable=False),
    Column("figures", JsonText, nullable=False),
    Column("words", JsonText, nullable=False),
    Index(None, "kind", "at"),
    sqlite_with_rowid=False,
    **STRICT,
)
"""Only ever added to; a trigger refuses everything else unless its job is in ``ERASING``."""

ERASING = Table(
    "erasing",
    METADATA,
    number_key("job_id", ForeignKey("jobs.id")),
    **STRICT,
)
"""Jobs whose logs lose their words in this transaction; empty at any other time."""

PICTURES = Table(
    "pictures",
    METADATA,
    Column("hash", Text, primary_key=True),
    Column("n_bytes", Integer, nullable=False),
    Column("arrived_at", UtcText, nullable=False),
    **STRICT,
)

JOB_PICTURES = Table(
    "job_pictures",
    METADATA,
    number_key("job_id", ForeignKey("jobs.id")),
    Column("hash", Text, ForeignKey("pictures.hash"), primary_key=True),
    Index(None, "hash"),
    **STRICT,
)

JOB_WORDS = Table(
    "job_words",
    METADATA,
    number_key("id", ForeignKey("jobs.id")),
    Column("words", Text, nullable=False),
    **STRICT,
)

CUSTOMER_WORDS = Table(
    "customer_words",
    METADATA,
    number_key("id", ForeignKey("customers.id")),
    Column("words", Text, nullable=False),
    **STRICT,
)
