"""Schema 2: suppliers, stock and its log, purchases, substitutes, and the tickets' log.

A migration is history: it stands as it was released and never follows later changes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import CheckConstraint, Column, ForeignKey, Integer, Text

if TYPE_CHECKING:
    from alembic.operations import Operations

NAME = "stock and tickets"
STRICT: dict[str, Any] = {"sqlite_strict": True}
LOGS = ("stock_log", "ticket_log")
SERIES = ("stock item", "stock log", "purchase", "ticket log")


def upgrade(op: Operations, dialect: str) -> None:
    """Make the tables beside those of schema 1."""
    _make_items(op)
    _make_stock_log(op)
    _make_purchases(op)
    _make_tickets(op)
    for name in SERIES:
        op.execute(f"INSERT INTO counters (name, value) VALUES ('{name}', 0)")  # noqa: S608
    for table in LOGS:
        for statement in _SQLITE if dialect == "sqlite" else _POSTGRESQL:
            op.execute(statement.format(table=table))


def _number(name: str, *more: Any) -> Column[int]:
    return Column(name, Integer, *more, primary_key=True, autoincrement=False)


def _texts(*names: str) -> list[Column[str]]:
    return [Column(name, Text, nullable=False) for name in names]


def _numbers(*names: str) -> list[Column[int]]:
    return [Column(name, Integer, nullable=False) for name in names]


def _item() -> Column[int]:
    return Column("item_id", Integer, ForeignKey("stock_items.id"), nullable=False)


def _make_items(op: Operations) -> None:
    op.create_table(
        "suppliers",
        Column("name", Text, primary_key=True),
        *_numbers("lead_days"),
        *_texts("order_cost", "notes"),
        **STRICT,
    )
    op.create_table(
        "stock_items",
        _number("id"),
        Column("version", Integer, CheckConstraint("version >= 1", name="version"), nullable=False),
        *_texts("kind", "name", "color", "size", "label", "supplier"),
        *_numbers("pack"),
        *_texts("each"),
        *_numbers("metres_each"),
        *_texts("cloth", "barcode"),
        **STRICT,
    )
    columns = ["kind", "name", "color", "size"]
    op.create_index("ix_stock_items_" + "_".join(columns), "stock_items", columns, unique=True)
    op.create_index("ix_stock_items_barcode", "stock_items", ["barcode"])
    op.create_table(
        "stock_lots",
        _number("item_id", ForeignKey("stock_items.id")),
        Column("place", Text, primary_key=True),
        *_numbers("count"),
        **STRICT,
    )


def _make_stock_log(op: Operations) -> None:
    op.create_table(
        "stock_log",
        _number("number"),
        *_texts("at"),
        _item(),
        *_texts("place"),
        *_numbers("change", "after"),
        *_texts("cause", "reason"),
        Column("job_id", Integer, ForeignKey("jobs.id")),
        **STRICT,
    )
    op.create_index("ix_stock_log_item_id_number", "stock_log", ["item_id", "number"])
    op.create_index("ix_stock_log_job_id_item_id", "stock_log", ["job_id", "item_id"])


def _make_purchases(op: Operations) -> None:
    op.create_table(
        "purchases",
        _number("number"),
        _item(),
        *_numbers("bought", "received"),
        *_texts("at", "arrives"),
        **STRICT,
    )
    op.create_index("ix_purchases_item_id_number", "purchases", ["item_id", "number"])
    op.create_table(
        "substitutes",
        _number("job_id", ForeignKey("jobs.id")),
        _number("line"),
        _number("item_id", ForeignKey("stock_items.id")),
        *_texts("asked_at", "answer"),
        Column("answered_at", Text),
        **STRICT,
    )


def _make_tickets(op: Operations) -> None:
    op.create_table(
        "ticket_log",
        _number("number"),
        *_texts("at"),
        Column("job_id", Integer, ForeignKey("jobs.id"), nullable=False),
        *_numbers("line", "piece"),
        *_texts("step", "plan_id", "figures"),
        **STRICT,
    )
    op.create_index("ix_ticket_log_job_id_line_number", "ticket_log", ["job_id", "line", "number"])


_SQLITE = (
    "CREATE TRIGGER {table}_kept BEFORE DELETE ON {table} "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END",
    "CREATE TRIGGER {table}_fixed BEFORE UPDATE ON {table} "
    "BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END",
)
_POSTGRESQL = (
    "CREATE TRIGGER {table}_kept BEFORE DELETE ON {table} "
    "FOR EACH ROW EXECUTE FUNCTION refuse_log_change()",
    "CREATE TRIGGER {table}_fixed BEFORE UPDATE ON {table} "
    "FOR EACH ROW EXECUTE FUNCTION refuse_log_change()",
)
