"""Schema 3: what is on the needles, and logs whose words go when a customer is erased.

A migration is history: it stands as it was released and never follows later changes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import Column, ForeignKey, Integer, Text

if TYPE_CHECKING:
    from alembic.operations import Operations

NAME = "needles and erasing"
STRICT: dict[str, Any] = {"sqlite_strict": True}

FIXED = {
    "job_log": ("job_id", "number", "at", "kind"),
    "stock_log": ("job_id", "number", "at", "item_id", "place", "change", "after", "cause"),
    "ticket_log": ("job_id", "number", "at", "line", "piece", "step", "plan_id"),
}
"""What of each log stays even while its job's customer is being erased."""


_UNMARKED = "NOT EXISTS (SELECT 1 FROM erasing WHERE erasing.job_id = OLD.job_id)"
_REFUSAL = "the log is only added to"


def upgrade(op: Operations, dialect: str) -> None:
    """Make the tables, and let an erasure change what a log says in words."""
    op.create_table(
        "needle_cones",
        Column("machine", Text, primary_key=True),
        Column("needle", Integer, primary_key=True, autoincrement=False),
        *(Column(name, Text, nullable=False) for name in ("thread", "color")),
        Column("metric_size", Integer, nullable=False),
        *(Column(name, Text, nullable=False) for name in ("point", "at")),
        **STRICT,
    )
    op.create_table(
        "erasing",
        Column("job_id", Integer, ForeignKey("jobs.id"), primary_key=True, autoincrement=False),
        **STRICT,
    )
    # What is told of one kind over all jobs (sew-outs, for one) is found without reading every log.
    op.create_index("ix_job_log_kind_at", "job_log", ["kind", "at"])
    for table, columns in FIXED.items():
        make = _sqlite if dialect == "sqlite" else _postgresql
        for statement in make(table, columns):
            op.execute(statement)


def _changed(columns: tuple[str, ...], unlike: str) -> str:
    return " OR ".join(f"NEW.{name} {unlike} OLD.{name}" for name in columns)


def _sqlite(table: str, columns: tuple[str, ...]) -> tuple[str, ...]:
    return (
        f"DROP TRIGGER {table}_fixed",
        f"CREATE TRIGGER {table}_fixed BEFORE UPDATE ON {table} "
        f"WHEN {_changed(columns, 'IS NOT')} OR {_UNMARKED} "
        f"BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END",
    )


def _postgresql(table: str, columns: tuple[str, ...]) -> tuple[str, ...]:
    return (
        f"DROP TRIGGER {table}_fixed ON {table}",
        f"CREATE FUNCTION refuse_{table}_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {_changed(columns, 'IS DISTINCT FROM')} OR {_UNMARKED} "
        f"THEN RAISE EXCEPTION '{_REFUSAL}'; END IF; RETURN NEW; END $$",
        f"CREATE TRIGGER {table}_fixed BEFORE UPDATE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION refuse_{table}_change()",
    )
