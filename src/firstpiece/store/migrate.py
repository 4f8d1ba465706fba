"""Bring a store's tables up to the newest schema, one migration at a time.

A migration and the record of it are one transaction: after a crash either both are there or none.
There is no way down; a backup is taken before the first step, and restoring it is the way back.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import inspect, select

from firstpiece.errors import StoreError
from firstpiece.store import migration_0001, migration_0002, migration_0003
from firstpiece.store.schema import MIGRATIONS

if TYPE_CHECKING:
    from datetime import datetime
    from types import ModuleType

    from sqlalchemy import Connection, Engine

STEPS: tuple[ModuleType, ...] = (migration_0001, migration_0002, migration_0003)
HEAD = len(STEPS)

_LOCK = 6_427_318
"""PostgreSQL's advisory lock that lets one process migrate at a time; any number does."""


def schema_number(connection: Connection) -> int:
    """Return the number of the last migration applied, 0 for an empty store; changes nothing.

    Raises
    ------
    StoreError
        When a newer Firstpiece wrote the store.
    """
    if not inspect(connection).has_table(MIGRATIONS.name):
        return 0
    numbers = connection.scalars(select(MIGRATIONS.c.number)).all()
    number = max(numbers, default=0)
    if number > HEAD:
        raise StoreError(
            _("the store was written by a newer Firstpiece (schema {number}, known here {head})")
            .format(number=number, head=HEAD),
            remedy=_("install the newer version, or restore an older backup"),
        )  # fmt: skip
    return number


def migrate(engine: Engine, *, at: datetime, up_to: int = HEAD) -> int:
    """Apply what is pending and return how many migrations that were.

    Parameters
    ----------
    engine : sqlalchemy.Engine
    at : datetime
        Written into the record.
    up_to : int
        Stop after this number.
    """
    n_applied = 0
    while _apply_next(engine, at=at, up_to=up_to):
        n_applied += 1
    return n_applied


def _apply_next(engine: Engine, *, at: datetime, up_to: int) -> bool:
    with engine.execution_options(writes=True).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")
        number = schema_number(connection)
        if number >= up_to:
            return False
        step = STEPS[number]
        if number == 0:
            MIGRATIONS.create(connection)
        context = MigrationContext.configure(connection)
        step.upgrade(Operations(context), connection.dialect.name)
        row = {"number": number + 1, "name": step.NAME, "applied_at": at}
        connection.execute(MIGRATIONS.insert().values(row))
    return True
