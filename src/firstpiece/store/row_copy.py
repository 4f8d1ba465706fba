"""Copy every row from one database to another of the same schema, whichever kind each is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import MetaData, Table, delete, func, insert, inspect, select, text

if TYPE_CHECKING:
    from sqlalchemy import Connection

ROWS_AT_ONCE = 2000

_INDEX = "_index"
_OWN = "migrations"


def plain_tables(connection: Connection) -> tuple[Table, ...]:
    """Return the tables a database has, owners before what refers to them.

    Left out are the record of migrations and the tables in which SQLite keeps its text index.
    """
    names = [
        name
        for name in inspect(connection).get_table_names()
        if name != _OWN and not any(part in name for part in (f"{_INDEX}_", "sqlite_"))
        and not name.endswith(_INDEX)
    ]  # fmt: skip
    metadata = MetaData()
    metadata.reflect(connection, only=names)
    return tuple(metadata.sorted_tables)


def copy_rows(source: Connection, target: Connection, tables: tuple[Table, ...]) -> None:
    """Copy all rows in place of what a new target holds, then index the words copied."""
    for table in reversed(tables):
        target.execute(delete(table))
    for table in tables:
        rows = source.execute(select(table), execution_options={"yield_per": ROWS_AT_ONCE})
        for part in rows.mappings().partitions(ROWS_AT_ONCE):
            target.execute(insert(table), [dict(row) for row in part])
    if target.dialect.name == "sqlite":
        for name in (f"{table.name}{_INDEX}" for table in tables if table.name.endswith("_words")):
            target.execute(text(f"INSERT INTO {name}({name}) VALUES ('rebuild')"))  # noqa: S608


def empty_tables(connection: Connection, tables: tuple[Table, ...]) -> None:
    """Empty tables of a PostgreSQL store at once, the log too."""
    names = ", ".join(f'"{table.name}"' for table in tables)
    connection.exec_driver_sql(f"TRUNCATE {names}")


def count_rows(connection: Connection, tables: tuple[Table, ...]) -> dict[str, int]:
    """Return the number of rows of each table."""
    return {
        table.name: int(connection.scalar(select(func.count()).select_from(table)) or 0)
        for table in tables
    }
