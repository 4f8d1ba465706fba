"""Find jobs and customers by words: every word typed must begin a word of what is found.

The words are cut by ``model.plain_text`` before either database sees them, so SQLite's full-text
index and PostgreSQL's find the same. The newest come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import Table, delete, insert, select, text

from firstpiece.model.plain_text import search_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

MOST_WORDS_ASKED = 8
MOST_WORDS_KEPT = 5000

_FIND = {
    "sqlite": "SELECT rowid FROM {t}_index WHERE {t}_index MATCH :query "
    "ORDER BY rowid DESC LIMIT :limit",
    "postgresql": "SELECT id FROM {t} "
    "WHERE word_vector(words) @@ CAST(:query AS tsquery) "
    "ORDER BY id DESC LIMIT :limit",
}


def put_words(connection: Connection, table: Table, number: int, texts: Iterable[str]) -> None:
    """Make a row findable by the words of texts, and by no others."""
    words = " ".join(search_words(*texts)[:MOST_WORDS_KEPT])
    old = connection.scalar(select(table.c.words).where(table.c.id == number))
    if words == old:
        return
    if old is not None:
        _index(connection, table, number, old, command="delete")
        connection.execute(delete(table).where(table.c.id == number))
    connection.execute(insert(table).values(id=number, words=words))
    _index(connection, table, number, words, command="")


def find_words(
    connection: Connection, table: Table, query: str, *, limit: int
) -> tuple[int, ...] | None:
    """Return the numbers of rows that have a word beginning with each word of the query.

    Returns
    -------
    tuple of int or None
        The highest first; None when the query has no words.
    """
    words = search_words(query)[:MOST_WORDS_ASKED]
    if not words:
        return None
    name = connection.dialect.name
    # Words are letters and digits only, so nothing in them can end the quotes.
    if name == "sqlite":
        asked = " AND ".join(f'"{word}"*' for word in words)
    else:
        asked = " & ".join(f"'{word}':*" for word in words)
    statement = text(_FIND[name].format(t=table.name))
    found = connection.scalars(statement, {"query": asked, "limit": limit})
    return tuple(int(number) for number in found)


def rebuild_index(connection: Connection, table: Table) -> None:
    """Make the full-text index anew from the words, leaving no trace of words taken out."""
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"INSERT INTO {table.name}_index({table.name}_index) "  # noqa: S608
                                "VALUES ('rebuild')"))  # fmt: skip


def _index(connection: Connection, table: Table, number: int, words: str, *, command: str) -> None:
    """Tell SQLite's index, which keeps no words itself; PostgreSQL's follows by itself."""
    if connection.dialect.name != "sqlite":
        return
    name = f"{table.name}_index"
    if command:
        statement = f"INSERT INTO {name}({name}, rowid, words) VALUES (:command, :number, :words)"  # noqa: S608
    else:
        statement = f"INSERT INTO {name}(rowid, words) VALUES (:number, :words)"  # noqa: S608
    values = {"number": number, "words": words}
    connection.execute(text(statement), values | ({"command": command} if command else {}))
