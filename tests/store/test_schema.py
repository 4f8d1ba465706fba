"""The tables hold nothing but four types, strictly, and are what the migrations make."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from importlib import import_module
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Integer, LargeBinary, Text, TypeDecorator, inspect, text
from sqlalchemy.exc import DBAPIError, IntegrityError
from tests.store.job_writing import act, put_job

from firstpiece import store as store_package
from firstpiece.model import job_rules as rules
from firstpiece.store.schema import METADATA

# Modules that add tables of their own to the same metadata.
for path in Path(store_package.__path__[0]).glob("*_tables.py"):
    import_module(f"firstpiece.store.{path.stem}")

ALLOWED = {"INTEGER", "REAL", "TEXT", "BLOB"}


def own_tables(store):
    """Names of our tables; SQLite's text index keeps some of its own beside them."""
    return [n for n in inspect(store.engine).get_table_names() if "_index" not in n]


def test_columns_are_integer_real_text_or_blob_and_tables_are_strict(new_store):
    store = new_store("sqlite")
    names = own_tables(store)
    assert set(names) == set(METADATA.tables)
    with closing(sqlite3.connect(store.engine.url.database)) as database:
        strict = {row[1]: row[5] for row in database.execute("PRAGMA table_list")}
        for name in names:
            types = {row[2] for row in database.execute(f"PRAGMA table_info({name})")}
            assert types <= ALLOWED, name
            assert strict[name] == 1, name


def test_a_word_where_a_number_belongs_is_refused(store):
    put_job(store)
    with pytest.raises(DBAPIError), store.engine.begin() as connection:
        connection.execute(text("UPDATE jobs SET n_pieces = 'many'"))


def test_the_models_are_what_the_migrations_make(store):
    def is_ours(_thing, name, kind, _reflected, _other):
        return not (kind in ("table", "index") and "_words_index" in name)

    with store.engine.connect() as connection:
        options = {"compare_type": same_kind, "include_object": is_ours}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, METADATA) == []


def same_kind(_context, _there, _wanted, there, wanted):
    """True when they differ; times, days and trees are text."""
    plain = wanted.impl_instance if isinstance(wanted, TypeDecorator) else wanted
    kinds = [k for k in (Integer, Text, LargeBinary) if isinstance(plain, k)]
    return not isinstance(there, tuple(kinds))


def test_the_comparison_bites(store):
    with store.engine.begin() as connection:
        connection.execute(text("ALTER TABLE counters ADD COLUMN extra TEXT"))
    with store.engine.connect() as connection:
        found = compare_metadata(MigrationContext.configure(connection), METADATA)
    assert ("remove_column", "counters") in [item[:3:2] for item in found]


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM job_log",
        "UPDATE job_log SET figures = '{}'",
        "UPDATE job_log SET kind = 'note'",
        "UPDATE job_log SET number = number + 10",
        "UPDATE job_log SET at = ''",
        'UPDATE job_log SET words = \'{"title":"other"}\'',
    ],
)
def test_the_log_can_only_be_added_to(store, statement):
    job = put_job(store)
    act(store, job.id, lambda j: rules.note(j, "x"))
    with pytest.raises(DBAPIError, match="only added to"), store.engine.begin() as connection:
        connection.execute(text(statement))


def test_words_of_the_log_go_only_while_their_job_is_being_erased(store):
    mine, other = put_job(store), put_job(store)
    empty = "UPDATE job_log SET words = '{}', figures = '{}' WHERE job_id = "
    with store.engine.begin() as connection:
        connection.execute(text(f"INSERT INTO erasing VALUES ({mine.id})"))
        connection.execute(text(empty + str(mine.id)))
        connection.execute(text("DELETE FROM erasing"))
    for statement in (empty + str(mine.id), empty + str(other.id)):
        with pytest.raises(DBAPIError, match="only added to"), store.engine.begin() as connection:
            connection.execute(text(statement))


def test_a_log_without_a_job_is_refused(store):
    row = "INSERT INTO job_log VALUES (7, 1, '', '', '', '')"
    with pytest.raises(IntegrityError), store.engine.begin() as connection:
        connection.execute(text(row))
