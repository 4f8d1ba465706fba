"""Schema 1: customers, jobs, their log, their pictures, and the words they are found by.

A migration is history: it stands as it was released and never follows later changes of ``schema``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import CheckConstraint, Column, ForeignKey, Integer, Text

if TYPE_CHECKING:
    from alembic.operations import Operations

NAME = "customers and jobs"
STRICT: dict[str, Any] = {"sqlite_strict": True}


def upgrade(op: Operations, dialect: str) -> None:
    """Make the tables in an empty store."""
    _make_customers(op)
    _make_jobs(op)
    _make_pictures(op)
    _make_words(op)
    for name in ("customer", "job"):
        op.execute(f"INSERT INTO counters (name, value) VALUES ('{name}', 0)")  # noqa: S608
    for statement in _SQLITE if dialect == "sqlite" else _POSTGRESQL:
        op.execute(statement)


def _number(name: str = "id", *more: Any) -> Column[int]:
    return Column(name, Integer, *more, primary_key=True, autoincrement=False)


def _make_customers(op: Operations) -> None:
    op.create_table(
        "counters",
        Column("name", Text, primary_key=True),
        Column("value", Integer, nullable=False),
        **STRICT,
    )
    op.create_table(
        "customers",
        _number(),
        Column("version", Integer, CheckConstraint("version >= 1", name="version"),
               nullable=False),
        Column("name", Text, nullable=False),
        Column("name_key", Text().with_variant(Text(collation="C"), "postgresql"),
               nullable=False),
        Column("writes_by", Text, nullable=False),
        Column("notes", Text, nullable=False),
        Column("consent", Text, nullable=False),
        Column("opened_at", Text, nullable=False),
        Column("erased_at", Text),
        **STRICT,
    )  # fmt: skip
    op.create_index("ix_customers_name_key_id", "customers", ["name_key", "id"])


def _make_jobs(op: Operations) -> None:
    op.create_table(
        "jobs",
        _number(),
        Column("version", Integer, CheckConstraint("version >= 1", name="version"),
               nullable=False),
        Column("state", Text, nullable=False),
        Column("is_open", Integer, CheckConstraint("is_open IN (0, 1)", name="is_open"),
               nullable=False),
        Column("customer_id", Integer, ForeignKey("customers.id")),
        Column("title", Text, nullable=False),
        Column("waiting", Text, nullable=False),
        Column("due", Text, nullable=False),
        Column("n_pieces", Integer, nullable=False),
        Column("opened_at", Text, nullable=False),
        Column("changed_at", Text, nullable=False),
        **STRICT,
    )  # fmt: skip
    for columns in (
        ["is_open", "due", "id"],
        ["state", "due", "id"],
        ["customer_id", "id"],
        ["due", "id"],
    ):
        op.create_index("ix_jobs_" + "_".join(columns), "jobs", columns)
    op.create_table(
        "job_log",
        _number("job_id", ForeignKey("jobs.id")),
        _number("number"),
        Column("at", Text, nullable=False),
        Column("kind", Text, nullable=False),
        Column("figures", Text, nullable=False),
        Column("words", Text, nullable=False),
        sqlite_with_rowid=False,
        **STRICT,
    )


def _make_pictures(op: Operations) -> None:
    op.create_table(
        "pictures",
        Column("hash", Text, primary_key=True),
        Column("n_bytes", Integer, nullable=False),
        Column("arrived_at", Text, nullable=False),
        **STRICT,
    )
    op.create_table(
        "job_pictures",
        _number("job_id", ForeignKey("jobs.id")),
        Column("hash", Text, ForeignKey("pictures.hash"), primary_key=True),
        **STRICT,
    )
    op.create_index("ix_job_pictures_hash", "job_pictures", ["hash"])


def _make_words(op: Operations) -> None:
    for table, owner in (("job_words", "jobs"), ("customer_words", "customers")):
        op.create_table(
            table,
            _number("id", ForeignKey(f"{owner}.id")),
            Column("words", Text, nullable=False),
            **STRICT,
        )


# The full-text index takes words cut by us: "ascii" leaves every other letter alone, so that a
# word is what stands between two spaces. Positions are not kept, since word order plays no part.
_SQLITE = (
    *(
        f"CREATE VIRTUAL TABLE {table}_index USING fts5(words, content='{table}', "
        "content_rowid='id', tokenize='ascii', prefix='1 2 3 4', detail=none)"
        for table in ("job_words", "customer_words")
    ),
    "CREATE TRIGGER job_log_kept BEFORE DELETE ON job_log "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END",
    "CREATE TRIGGER job_log_fixed BEFORE UPDATE ON job_log "
    "WHEN NEW.job_id <> OLD.job_id OR NEW.number <> OLD.number OR NEW.at <> OLD.at "
    "OR NEW.kind <> OLD.kind OR NEW.figures <> OLD.figures OR NEW.words <> '{}' "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END",
)
# PostgreSQL must know that taking a row's words apart is dear: else it reads row after row, newest
# first, hoping for a match, where the index would tell at once that there is none.
_POSTGRESQL = (
    "CREATE FUNCTION word_vector(words text) RETURNS tsvector LANGUAGE plpgsql IMMUTABLE STRICT "
    "COST 1000 AS $$ BEGIN RETURN array_to_tsvector(string_to_array(words, ' ')); END $$",
    *(
        f"CREATE INDEX {table}_index ON {table} USING gin (word_vector(words))"
        for table in ("job_words", "customer_words")
    ),
    "CREATE FUNCTION refuse_log_change() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION 'the log is only added to'; END $$",
    "CREATE TRIGGER job_log_kept BEFORE DELETE ON job_log "
    "FOR EACH ROW EXECUTE FUNCTION refuse_log_change()",
    "CREATE TRIGGER job_log_fixed BEFORE UPDATE ON job_log FOR EACH ROW "
    "WHEN (NEW.job_id <> OLD.job_id OR NEW.number <> OLD.number OR NEW.at <> OLD.at "
    "OR NEW.kind <> OLD.kind OR NEW.figures <> OLD.figures OR NEW.words <> '{}') "
    "EXECUTE FUNCTION refuse_log_change()",
)
