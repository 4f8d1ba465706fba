"""The tables of stock, purchases, substitutes and tickets, beside those of ``schema``."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, Table, Text

from firstpiece.store.schema import (
    METADATA,
    STRICT,
    DayText,
    JsonText,
    UtcText,
    number_key,
    version_column,
)

SUPPLIERS = Table(
    "suppliers",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("lead_days", Integer, nullable=False),
    Column("order_cost", JsonText, nullable=False),
    Column("notes", Text, nullable=False),
    **STRICT,
)

STOCK_ITEMS = Table(
    "stock_items",
    METADATA,
    number_key("id"),
    version_column(),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("color", Text, nullable=False),
    Column("size", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("supplier", Text, nullable=False),
    Column("pack", Integer, nullable=False),
    Column("each", JsonText, nullable=False),
    Column("metres_each", Integer, nullable=False),
    Column("cloth", JsonText, nullable=False),
    Column("barcode", Text, nullable=False),
    Index(None, "kind", "name", "color", "size", unique=True),
    Index(None, "barcode"),
    **STRICT,
)

STOCK_LOTS = Table(
    "stock_lots",
    METADATA,
    number_key("item_id", ForeignKey("stock_items.id")),
    Column("place", Text, primary_key=True),
    Column("count", Integer, nullable=False),
    **STRICT,
)
"""One row a lot: what the movements add up to. The movements are the truth."""

STOCK_LOG = Table(
    "stock_log",
    METADATA,
    number_key("number"),
    Column("at", UtcText, nullable=False),
    Column("item_id", Integer, ForeignKey("stock_items.id"), nullable=False),
    Column("place", Text, nullable=False),
    Column("change", Integer, nullable=False),
    Column("after", Integer, nullable=False),
    Column("cause", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("job_id", Integer, ForeignKey("jobs.id")),
    Index(None, "item_id", "number"),
    Index(None, "job_id", "item_id"),
    **STRICT,
)
"""Only ever added to; a trigger refuses everything else."""

PURCHASES = Table(
    "purchases",
    METADATA,
    number_key("number"),
    Column("item_id", Integer, ForeignKey("stock_items.id"), nullable=False),
    Column("bought", Integer, nullable=False),
    Column("received", Integer, nullable=False),
    Column("at", UtcText, nullable=False),
    Column("arrives", DayText, nullable=False),
    Index(None, "item_id", "number"),
    **STRICT,
)

SUBSTITUTES = Table(
    "substitutes",
    METADATA,
    number_key("job_id", ForeignKey("jobs.id")),
    number_key("line"),
    number_key("item_id", ForeignKey("stock_items.id")),
    Column("asked_at", UtcText, nullable=False),
    Column("answer", Text, nullable=False),
    Column("answered_at", UtcText),
    **STRICT,
)

TICKET_LOG = Table(
    "ticket_log",
    METADATA,
    number_key("number"),
    Column("at", UtcText, nullable=False),
    Column("job_id", Integer, ForeignKey("jobs.id"), nullable=False),
    Column("line", Integer, nullable=False),
    Column("piece", Integer, nullable=False),
    Column("step", Text, nullable=False),
    Column("plan_id", Text, nullable=False),
    Column("figures", JsonText, nullable=False),
    Index(None, "job_id", "line", "number"),
    **STRICT,
)
"""Only ever added to; a trigger refuses everything else."""

NEEDLE_CONES = Table(
    "needle_cones",
    METADATA,
    Column("machine", Text, primary_key=True),
    number_key("needle"),
    Column("thread", Text, nullable=False),
    Column("color", Text, nullable=False),
    Column("metric_size", Integer, nullable=False),
    Column("point", Text, nullable=False),
    Column("at", UtcText, nullable=False),
    **STRICT,
)
"""What is on the needles now; an empty needle has no row."""
